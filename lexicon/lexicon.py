"""The whole vocabulary, ready to search a text."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Set
from dataclasses import dataclass, replace
from pathlib import Path

from rapidfuzz import fuzz, process

from lexicon.entries import Entry, Sport
from lexicon.errors import LexiconError
from lexicon.files import read_classes, read_entries, read_lists, read_own_entries, shipped_texts
from lexicon.overlay import lay_over
from lexicon.patterns import Compiler, Pattern, Phrase, Stance
from lexicon.tokens import Tokens, is_known, lemma

_NEAR_LENGTH = 5
_NEAR_LIKENESS = 86.0


@dataclass(frozen=True, slots=True)
class Hit:
    """An entry or cue found in tokens[first:last] by a pattern that needs so many words."""

    id: str
    pattern: str
    first: int
    last: int
    needs: int


@dataclass(frozen=True, slots=True)
class _Rule:
    """A pattern that speaks for an entry or cue; compiled when a text first holds its anchor."""

    id: str
    text: str
    unless: tuple[str, ...] = ()
    sports: tuple[Sport, ...] = ()


class Lexicon:
    """Entries and grammar cues, with their patterns compiled and indexed by a word that each one needs.

    `terms` holds, for each sport, the spoken terms that a recogniser is to be told of, the most needed first.
    """

    def __init__(
        self,
        entries: dict[str, Entry],
        cues: dict[str, tuple[str, ...]],
        classes: dict[str, tuple[Phrase, ...]],
        terms: dict[str, tuple[str, ...]],
    ):
        self.entries = entries
        self.cues = cues
        self.classes = classes
        self.terms = terms
        self._compiler = Compiler(classes)
        self._entry_rules = self._index(_Rule(e.id, p, e.unless, e.sports) for e in entries.values() for p in e.say)
        self._cue_rules = self._index(_Rule(cue, p) for cue, patterns in cues.items() for p in patterns)
        self._spellings = sorted(
            w for w in self._entry_rules if len(w) >= _NEAR_LENGTH and (w.isalpha() and not w.startswith("="))
        )
        parts = [e.model_dump_json() for e in entries.values()] + [repr(sorted(cues.items())), repr(classes)]
        self.sha256 = hashlib.sha256("\n".join(parts).encode()).hexdigest()

    def find_entries(
        self,
        tokens: Tokens,
        first: int,
        last: int,
        stance: Stance | None = None,
        sport: Sport | None = None,
        only: Set[str] | None = None,
    ) -> list[Hit]:
        """Techniques, faults, fixes and welfare signs in tokens[first:last], in order of place; `only` those ids.

        Of overlapping finds of one sort the longest stays, so "inside low kick" is not also "low kick".
        """
        found = self._find(self._entry_rules, tokens, first, last, stance, sport, only)
        kept: list[Hit] = []
        for hit in sorted(found, key=lambda h: (h.first - h.last, h.first, h.id)):
            sort = self.entries[hit.id].sort
            if not any(
                self.entries[other.id].sort == sort and hit.first < other.last and other.first < hit.last
                for other in kept
            ):
                kept.append(hit)
        return sorted(kept, key=lambda h: (h.first, h.last, h.id))

    def find_cues(self, tokens: Tokens, first: int, last: int) -> list[Hit]:
        """Grammar cues in tokens[first:last]; overlapping ones all stand."""
        return sorted(
            self._find(self._cue_rules, tokens, first, last, None, None), key=lambda h: (h.first, h.last, h.id)
        )

    def respell(self, tokens: Tokens, names: Set[str] = frozenset()) -> tuple[Tokens, frozenset[int]]:
        """Unknown words, save names, exchanged for the vocabulary's nearest spelling, and where that was done."""
        forms, lemmas, places = list(tokens.forms), list(tokens.lemmas), set()
        for i, form in enumerate(tokens.forms):
            if (
                len(form) < _NEAR_LENGTH
                or not form.isalpha()
                or form in self._entry_rules
                or form in names
                or is_known(form)
            ):
                continue
            if tokens.lemmas[i] in self._entry_rules:
                continue
            near = process.extractOne(form, self._spellings, scorer=fuzz.ratio, score_cutoff=_NEAR_LIKENESS)
            if near:
                forms[i], lemmas[i] = near[0], lemma(near[0])
                places.add(i)
        return replace(tokens, forms=tuple(forms), lemmas=tuple(lemmas)), frozenset(places)

    def compile(self, text: str) -> Pattern:
        """The pattern behind a text of this vocabulary."""
        return self._compiler.compile(text)

    def compile_all(self) -> None:
        """Compile every pattern at once. Raises LexiconError naming the entry of one that cannot be read."""
        for entry in self.entries.values():
            for text in (*entry.say, *entry.unless):
                try:
                    self.compile(text)
                except LexiconError as error:
                    raise LexiconError(f'entry "{entry.id}": {error}') from None

    def _index(self, rules: Iterable[_Rule]) -> dict[str, list[_Rule]]:
        index: dict[str, list[_Rule]] = defaultdict(list)
        for rule in rules:
            for word in self._compiler.anchors(rule.text):
                index[word].append(rule)
        return dict(index)

    def _find(
        self,
        index: dict[str, list[_Rule]],
        tokens: Tokens,
        first: int,
        last: int,
        stance: Stance | None,
        sport: Sport | None,
        only: Set[str] | None = None,
    ) -> list[Hit]:
        words = {*tokens.forms[first:last], *tokens.lemmas[first:last]}
        rules = {id(rule): rule for word in sorted(words) for rule in index.get(word, ())}
        hits: dict[tuple[str, int, int], Hit] = {}
        for rule in rules.values():
            if (rule.sports and sport and sport not in rule.sports) or (only is not None and rule.id not in only):
                continue
            pattern = self.compile(rule.text)
            if not pattern.possible(words):
                continue
            for start, end in pattern.find(tokens, first, last, stance):
                if not self._vetoed(rule, words, (start, end), tokens, first, last, stance):
                    hit = Hit(rule.id, rule.text, start, end, len(pattern.needed))
                    known = hits.setdefault((rule.id, start, end), hit)
                    if hit.needs > known.needs:
                        hits[rule.id, start, end] = hit
        return list(hits.values())

    def _vetoed(
        self,
        rule: _Rule,
        words: set[str],
        span: tuple[int, int],
        tokens: Tokens,
        first: int,
        last: int,
        stance: Stance | None,
    ) -> bool:
        """Whether an `unless` of the rule matches within three words of a find."""
        return any(
            a < span[1] + 3 and span[0] - 3 < b
            for veto in map(self.compile, rule.unless)
            if veto.possible(words)
            for a, b in veto.find(tokens, first, last, stance)
        )

    def of_sort(self, sort: str) -> list[Entry]:
        """Entries of one sort, by id."""
        return sorted((e for e in self.entries.values() if e.sort == sort), key=lambda e: e.id)


def load(own: Path | None = None) -> Lexicon:
    """The shipped vocabulary with the owner's file laid over it. Raises LexiconError by file and line."""
    texts = shipped_texts()
    entries = read_entries(texts)
    if own is not None:
        entries = lay_over(entries, read_own_entries(own), str(own))
    lexicon = Lexicon(entries, read_lists(texts, "cues/"), read_classes(texts), read_lists(texts, "terms"))
    _check_references(lexicon)
    if own is not None and own.exists():
        lexicon.compile_all()
    return lexicon


def _check_references(lexicon: Lexicon) -> None:
    wanted = {"fixes": "fix", "techniques": "technique", "answers": "fault"}
    for entry in lexicon.entries.values():
        for key, sort in wanted.items():
            for other in getattr(entry, key):
                if other not in lexicon.entries or lexicon.entries[other].sort != sort:
                    raise LexiconError(f'entry "{entry.id}": "{other}" under {key} is no {sort} of the lexicon')
        if entry.kind_of and entry.kind_of not in lexicon.entries:
            raise LexiconError(f'entry "{entry.id}": kind_of "{entry.kind_of}" is not in the lexicon')
