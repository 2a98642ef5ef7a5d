"""What a typed query asks for: phrases, athletes, concepts of the lexicon, and words in the log's own spelling."""

import math
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from lexicon import Lexicon
from lexicon.tokens import tokenize
from notes.archive.words import plain, quoted, spoken_words, tag, without_owners

_PHRASE = re.compile(r'"([^"]*)"')
_QUOTES = str.maketrans({"“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "\0": " "})
_LONGEST = 500
_MOST_UNITS = 8
_REPAIRED_LENGTH = 4
_LIKENESS = 0.65
# A word in fewer notes than one of so many is only compared with words of its first letter: large logs hold many such.
_TOO_RARE = 200_000
# Of several concepts in the same words the first of these sorts is what is asked for; the others only count a little.
_SORTS = ("fault", "welfare", "technique", "fix")
_CONCEPT_WEIGHT = 1.2
_NAME_WEIGHT = 0.5
_ASIDE_WEIGHT = 0.3


@dataclass(frozen=True, slots=True)
class Unit:
    """One thing asked for, found by any of its tags or by all of its words. `weight` is how much it tells.

    `near` are tags of things whose name holds its own: "hands low on exit" for "hands low".
    """

    tags: tuple[str, ...]
    words: tuple[str, ...]
    weight: float
    near: tuple[str, ...] = ()

    @property
    def match(self) -> str:
        """The unit as an FTS5 expression."""
        ways = [quoted([name]) for name in self.tags]
        if self.words:
            ways.append(f"({' AND '.join(quoted([word]) for word in self.words)})")
        return f"({' OR '.join(ways)})"


@dataclass(frozen=True, slots=True)
class Asked:
    """A query understood. Phrases must be said; of the units as many as can be, the weightiest first.

    `verbatim` holds the phrases as they were typed, `athletes` the tags of who is named.
    `weights` tells how much each word and tag counts; `reasons` what a word or tag tells of a note that has it.
    `concepts` are the lexicon's ids among what is asked for.
    """

    phrases: tuple[tuple[str, ...], ...]
    verbatim: tuple[str, ...]
    athletes: frozenset[str]
    units: tuple[Unit, ...]
    weights: dict[str, float]
    reasons: dict[str, str]
    concepts: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Find:
    """Tags named in characters start to end of a query, with what they tell; `rank` 0 is what is asked for first.

    `weight` is what they tell beside a word that is as rare.
    """

    start: int
    end: int
    rank: int
    weight: float
    tags: tuple[str, ...]
    reason: str
    near: Mapping[str, str] = field(default_factory=dict)


def ask(db: sqlite3.Connection, lexicon: Lexicon, query: str) -> Asked:
    """Understand a query. Any text will do; of a very long one the beginning counts."""
    text = plain(query[:_LONGEST].translate(_QUOTES))
    verbatim = tuple(said for said in _PHRASE.findall(text) if spoken_words(said))
    phrases = tuple(tuple(s.word for s in spoken_words(said)) for said in verbatim)
    text = _PHRASE.sub(" ", text).replace('"', " ")
    rarity = _Rarity(db)
    names = list(_names(db, text))
    text, respelt = _respell(db, lexicon, rarity, text, names)
    spoken = spoken_words(text)
    told = [s for s in spoken if not s.small] or spoken
    named = list(_names(db, text))
    found = [*named, *_concepts(lexicon, text)]

    weights = {s.word: rarity.of(s.word) for s in told}
    weights |= {word: rarity.of(word) for phrase in phrases for word in phrase if word not in weights}
    reasons = {s.word: f'says "{s.written}"' for s in told}
    reasons |= {right: f'says "{right}", typed "{wrong}"' for wrong, right in respelt.items()}
    units, free = [], list(told)
    for group in _groups(found):
        covered = [s for s in told if any(f.start <= s.start < f.end for f in group)]
        free = [s for s in free if s not in covered]
        best = min(group, key=lambda f: (f.rank, f.start - f.end))
        for find in sorted(group, key=lambda f: f is best):
            for name in find.tags:
                weights[name] = rarity.of(name) * find.weight * (1 if find is best else _ASIDE_WEIGHT)
                reasons[name] = find.reason
        words = tuple(dict.fromkeys(s.word for s in covered))
        units.append(Unit(best.tags, words, max(weights[name] for name in best.tags), tuple(best.near)))
        for name, reason in best.near.items():
            weights.setdefault(name, rarity.of(name) * best.weight * _ASIDE_WEIGHT)
            reasons.setdefault(name, reason)
    units += [Unit((), (word,), weights[word]) for word in dict.fromkeys(s.word for s in free)]
    wanted = {name for unit in units for name in unit.tags}
    concepts = frozenset(i for i in lexicon.entries if tag("is", i) in wanted)
    athletes = frozenset(name for find in named for name in find.tags)
    units.sort(key=lambda unit: -unit.weight)
    return Asked(phrases, verbatim, athletes, tuple(units[:_MOST_UNITS]), weights, reasons, concepts)


def notes_with(db: sqlite3.Connection, word: str) -> int:
    """How many notes have a word or tag."""
    row = db.execute("SELECT notes FROM vocabulary WHERE word = ?", (word,)).fetchone()
    return row[0] if row else 0


class _Rarity:
    """How much a word or tag tells: the idf of bm25 (Robertson & Zaragoza 2009, Found Trends Inf Retr 3:333)."""

    def __init__(self, db: sqlite3.Connection):
        self._db = db
        self.all_notes: int = (
            db.execute("SELECT sum(notes) FROM vocabulary WHERE word GLOB 'kind_*'").fetchone()[0] or 0
        )

    def of(self, word: str) -> float:
        """Its weight, above 0."""
        n = notes_with(self._db, word)
        return math.log(1 + (self.all_notes - n + 0.5) / (n + 0.5))


def _names(db: sqlite3.Connection, text: str) -> Iterator[_Find]:
    """Athletes whose name or alias stands in a text."""
    called = "SELECT id, name FROM person UNION SELECT person, name FROM alias"
    for row in db.execute(
        f"SELECT coalesce(p.merged_into, p.id), n.name FROM ({called}) n JOIN person p ON p.id = n.id"
    ):
        name = plain(row[1])
        if name in text:
            for match in re.finditer(rf"\b{re.escape(name)}\b", text):
                yield _Find(match.start(), match.end(), 0, _NAME_WEIGHT, (tag("athlete", row[0]),), f"on {row[1]}")


def _concepts(lexicon: Lexicon, text: str) -> Iterator[_Find]:
    """Concepts that a text names: by their labels, or in any wording that the lexicon knows; whose hands they are makes
    no difference ("dropping his hands")."""
    for written in dict.fromkeys((text, without_owners(text))):
        yield from _concepts_as_written(lexicon, written)


def _concepts_as_written(lexicon: Lexicon, text: str) -> Iterator[_Find]:
    spoken = spoken_words(text)
    words = [s.word for s in spoken]
    for first, word in enumerate(words):
        for label, name in _labels(lexicon).get(word, ()):
            if tuple(words[first : first + len(label)]) == label:
                yield _concept(lexicon, name, spoken[first].start, spoken[first + len(label) - 1].end)
    tokens, _ = lexicon.respell(tokenize(text))
    for hit in lexicon.find_entries(tokens, 0, len(tokens), "orthodox"):
        yield _concept(lexicon, hit.id, tokens.starts[hit.first], tokens.ends[hit.last - 1])


def _concept(lexicon: Lexicon, name: str, start: int, end: int) -> _Find:
    kinds = [e.id for e in lexicon.entries.values() if e.kind_of == name]
    rank = _SORTS.index(lexicon.entries[name].sort)
    tags = tuple(tag("is", i) for i in (name, *kinds))
    near = {tag("is", i): f"means {i}" for i in _named_with(lexicon, name) if i not in (name, *kinds)}
    return _Find(start, end, rank, _CONCEPT_WEIGHT, tags, f"means {name}", near)


def _named_with(lexicon: Lexicon, name: str) -> Iterator[str]:
    """Entries of the same sort whose label begins with that of another, of two words or more."""
    asked = lexicon.entries[name]
    label = tuple(s.word for s in spoken_words(asked.label))
    for words, other in _labels(lexicon).get(label[0], ()):
        if len(label) > 1 and words[: len(label)] == label and lexicon.entries[other].sort == asked.sort:
            yield other


@lru_cache(maxsize=4)
def _labels(lexicon: Lexicon) -> dict[str, list[tuple[tuple[str, ...], str]]]:
    """By its first word, each entry's label as words, with the entry's id."""
    labels: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for entry in lexicon.entries.values():
        words = tuple(s.word for s in spoken_words(entry.label))
        labels.setdefault(words[0], []).append((words, entry.id))
    return labels


def _groups(finds: Sequence[_Find]) -> list[list[_Find]]:
    """Finds put together where their characters overlap."""
    groups: list[list[_Find]] = []
    for find in sorted(finds, key=lambda f: f.start):
        if groups and find.start < max(f.end for f in groups[-1]):
            groups[-1].append(find)
        else:
            groups.append([find])
    return groups


def _respell(
    db: sqlite3.Connection, lexicon: Lexicon, rarity: _Rarity, text: str, names: Sequence[_Find]
) -> tuple[str, dict[str, str]]:
    """A text with the words that the log and the lexicon do not know in the nearest spelling they know."""
    respelt: dict[str, str] = {}
    for said in reversed(spoken_words(text)):
        known = said.small or len(said.word) < _REPAIRED_LENGTH or not said.word.isalpha() or notes_with(db, said.word)
        if known or any(f.start <= said.start < f.end for f in names):
            continue
        if near := _nearest(db, lexicon, rarity, said.word):
            text = text[: said.start] + near + text[said.end :]
            respelt[said.written] = near
    return text, respelt


def _nearest(db: sqlite3.Connection, lexicon: Lexicon, rarity: _Rarity, word: str) -> str | None:
    """The known word most like another, the commoner of two: first among those of its first letter, then among all that
    are not too rare to be meant."""
    shortest, longest = len(word) - 2, len(word) + 2
    alike = "length(word) BETWEEN ? AND ? AND word NOT GLOB '*_*'"
    same_letter = f"SELECT word, notes FROM vocabulary WHERE word >= ? AND word < ? AND {alike}"
    not_rare = f"SELECT word, notes FROM vocabulary WHERE notes >= ? AND {alike}"
    of_labels = dict.fromkeys((w for group in _labels(lexicon).values() for label, _ in group for w in label), 0)
    for known in (
        of_labels | dict(db.execute(same_letter, (word[0], word[0] + "\U0010ffff", shortest, longest)).fetchall()),
        dict(db.execute(not_rare, (rarity.all_notes / _TOO_RARE, shortest, longest)).fetchall()),
    ):
        near = process.extract(word, known.keys(), scorer=OSA.normalized_similarity, score_cutoff=_LIKENESS, limit=5)
        if near:
            return str(max(near, key=lambda n: (round(n[1], 2), known[n[0]]))[0])
    return None
