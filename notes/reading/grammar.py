"""How a statement is meant: denied, ordered, wished, supposed, asked, long ago. Never whether it is good or bad."""

from dataclasses import dataclass
from typing import Literal

from lexicon import Hit
from notes.reading.talk import JOINTS, SUBJECTS, Sentence, Talk

Mood = Literal["did", "order", "should", "unmet", "suppose", "question"]
_NEGATION_REACH = 6
# Words by which a pattern says that it is a denial itself.
_DENYING = frozenset(
    "not never no nothing without nobody none zero nowt nowhere neither nor hardly barely stop stopped @do_not".split()
)
_OPENERS = frozenset(
    "and so but now ok okay right well yeah yes then just please come on mate always next time again oh hey there here"
    " when if also only maybe first next after plus try to let 's always never do not stop".split()
)


@dataclass(frozen=True, slots=True)
class Sense:
    """The grammar around one hit."""

    negated: bool
    mood: Mood
    stopped: bool


@dataclass(frozen=True, slots=True)
class Cues:
    """The cues of one sentence by sort, as token spans."""

    spans: dict[str, tuple[tuple[int, int], ...]]

    def has(self, sort: str) -> bool:
        """Whether the sentence holds such a cue."""
        return sort in self.spans

    def before(self, sort: str, token: int, first: int) -> bool:
        """Whether such a cue starts in tokens[first:token]."""
        return any(first <= a < token for a, _ in self.spans.get(sort, ()))


_LOOKALIKES = {"negation": "not_negation", "praise": "not_praise", "again": "not_again", "order": "not_order"}


def sort_cues(hits: list[Hit]) -> Cues:
    """Cues by sort, without those that only look like one ("no doubt", "well out of range", "stand still")."""
    spans: dict[str, list[tuple[int, int]]] = {}
    for hit in hits:
        spans.setdefault(hit.id, []).append((hit.first, hit.last))
    for sort, lookalike in _LOOKALIKES.items():
        false = spans.pop(lookalike, [])
        kept = [s for s in spans.get(sort, []) if not any(a < s[1] and s[0] < b for a, b in false)]
        spans.pop(sort, None)
        if kept:
            spans[sort] = kept
    return Cues({sort: tuple(found) for sort, found in spans.items()})


def sense(hit: Hit, sentence: Sentence, cues: Cues, talk: Talk, *, named: bool = False) -> Sense:
    """The grammar around a hit: what reaches it inside its clause, and suppositions of its sentence.

    `named` for what is only named, as a technique is: "Jab, cross" orders nothing where "throw the jab" does.
    """
    first, last = predicate_clause(hit, sentence, talk)
    reach = max(first, hit.first - _NEGATION_REACH)
    end = hit.first if _DENYING & set(hit.pattern.replace("/", " ").replace("=", "").split()) else hit.last
    negated = any(reach <= a and b <= end for a, b in cues.spans.get("negation", ()))
    negated = negated != any(hit.last <= a < last for a, _ in cues.spans.get("gone", ()))
    stopped = any(reach <= a < hit.first for a, b in cues.spans.get("stop", ()))
    begins = sentence.clause_of(hit.first)[0]
    return Sense(negated, _mood(hit, sentence, begins, cues, talk, named), stopped)


def predicate_clause(hit: Hit, sentence: Sentence, talk: Talk) -> tuple[int, int]:
    """The clause that says what happened: the last one of a hit that reaches over an "and" or another joint."""
    said = sentence.clause_of(hit.last - 1)
    return said if said[0] > hit.first and talk.tokens.forms[said[0]] in JOINTS else sentence.clause_of(hit.first)


def _mood(hit: Hit, sentence: Sentence, clause: int, cues: Cues, talk: Talk, named: bool) -> Mood:
    if cues.before("unmet", hit.first + 1, sentence.first):
        return "unmet"
    if cues.before("suppose", hit.last, clause):
        return "suppose"
    if cues.before("should", hit.first + 1, clause):
        return "should"
    if cues.before("order", hit.first, clause) if named else is_order(hit, clause, talk):
        return "order"
    if sentence.question and cues.has("question"):
        return "question"
    return "did"


def is_order(hit: Hit, clause: int, talk: Talk) -> bool:
    """Whether the hit stands in a command: a bare verb, with no subject before it in its clause."""
    forms, lemmas = talk.tokens.forms, talk.tokens.lemmas
    before = [f for f in forms[clause : hit.first] if f[0].isalpha()]
    if any(f in SUBJECTS for f in before):
        return False
    if before and not all(f in _OPENERS or f in _COMMANDS for f in before):
        return False
    verb = hit.first
    return forms[verb] == lemmas[verb] or any(f in _COMMANDS - _DENIALS for f in before)


_DENIALS = frozenset({"not", "never"})
_COMMANDS = _DENIALS | frozenset(
    "keep get bring put take make stay stop do start go come look let try hold give use step turn move throw"
    " have be".split()
)
