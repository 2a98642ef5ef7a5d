"""Remarks into observations: fault, reason and fix joined over sentences by the reading guide's numbered rules."""

from dataclasses import dataclass, field

from lexicon import Lexicon
from notes.model import UNLISTED, Kind, Observation, Transcript
from notes.reading.people import Person
from notes.reading.remarks import Mention, Remark, read_remarks
from notes.reading.talk import Talk, read_talk
from notes.reading.when import Moments
from notes.sheet import Sheet

# A fix within two sentences of its fault is joined to it (reading guide, rule 6).
_REACH = 2
# Frames that go with almost any action; named only when nothing more telling is.
_WEAK = frozenset({"footwork", "stance", "guard-hands", "exit", "entry", "counter", "fence-work", "clinch"})


@dataclass
class _Draft:
    """An observation in the making, over remarks first..last."""

    person: Person
    kind: Kind
    first: int
    last: int
    techniques: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    fixes: list[str] = field(default_factory=list)
    again: bool = False
    confidence: float = 0.5
    token: int = 0

    def spread(self, place: int) -> None:
        """Take in the remark at `place`."""
        self.first, self.last = min(self.first, place), max(self.last, place)


def read_observations(transcript: Transcript, sheet: Sheet, lexicon: Lexicon) -> tuple[Observation, ...]:
    """Every observation of a review, in spoken order. Pure: the same words, sheet and lexicon give the same result."""
    talk = read_talk(transcript, lexicon)
    remarks = read_remarks(talk, sheet, lexicon)
    drafts = _Reader(lexicon, sheet, remarks).read()
    moments = Moments(talk, sheet, timed=transcript.timed)
    found = [_finished(draft, remarks, talk, moments) for draft in drafts]
    return tuple(sorted(found, key=lambda o: (o.start_ms, o.end_ms, o.athlete, o.kind, o.faults, o.techniques)))


class _Reader:
    """Walks the remarks once, opening drafts and joining what belongs to them."""

    def __init__(self, lexicon: Lexicon, sheet: Sheet, remarks: list[Remark]):
        self.lexicon = lexicon
        self.sheet = sheet
        self.remarks = remarks
        self.drafts: list[_Draft] = []

    def read(self) -> list[_Draft]:
        """All drafts, with fixes and techniques joined."""
        for place, remark in enumerate(self.remarks):
            self._welfare(place, remark)
            if remark.setting in ("restatement", "question", "past", "others"):
                continue
            if remark.cues.has("again_only"):
                self._repeat(place)
                continue
            self._faults(place, remark)
            self._strengths(place, remark)
        for place, remark in enumerate(self.remarks):
            if remark.setting in ("seen", "past"):
                self._fixes(place, remark)
        for draft in self.drafts:
            draft.techniques = draft.techniques or self._techniques(draft)
        return sorted(self.drafts, key=lambda d: (d.first, d.token))

    def _welfare(self, place: int, remark: Remark) -> None:
        for mention in remark.of_sort("welfare"):
            if mention.negated or mention.mood == "suppose" or remark.setting in ("past", "others"):
                continue
            if not any(d.kind == "welfare" and d.person == mention.person and place - d.last <= 3 for d in self.drafts):
                self._open(mention.person, "welfare", place, mention.hit.first, confidence=0.7)

    def _faults(self, place: int, remark: Remark) -> None:
        for mention in remark.of_sort("fault"):
            person = self._person(mention.person, remark)
            if mention.meaning == "fault":
                self._fault(place, remark, mention, person)
            elif mention.meaning == "strength" and person.role == "athlete":
                self._open(person, "strength", place, mention.hit.first, confidence=0.6)
        for mention in remark.of_sort("fix"):
            answered = self._answered(mention)
            if mention.meaning == "lack" and answered and remark.setting == "seen":
                self._fault(place, remark, mention, self._person(mention.person, remark), answered, mention.entry.id)

    def _person(self, person: Person, remark: Remark) -> Person:
        return Person(person.name, "coach") if remark.setting == "demonstration" else person

    def _fault(
        self, place: int, remark: Remark, mention: Mention, person: Person, fault: str = "", fix: str = ""
    ) -> None:
        fault = fault or mention.entry.id
        people = [Person(a.name, "athlete") for a in self.sheet.athletes] if remark.everyone else [person]
        for one in people:
            same = [
                d
                for d in self.drafts
                if d.kind == "fault" and d.person == one and fault in d.faults and place - d.last <= 1
            ]
            if same and not (remark.cues.has("again") and place > same[-1].last):
                same[-1].spread(place)
                continue
            draft = self._open(one, "fault", place, mention.hit.first, confidence=0.75)
            draft.faults = [fault]
            draft.fixes = [fix] if fix else []
            draft.again = remark.cues.has("again")

    def _answered(self, fix: Mention) -> str | None:
        """The fault that the lexicon answers with a fix."""
        named = [e.id for e in self.lexicon.of_sort("fault") if fix.entry.id in e.fixes[:1]]
        return named[0] if named else None

    def _strengths(self, place: int, remark: Remark) -> None:
        if not remark.cues.has("praise") or remark.setting != "seen":
            return
        start = remark.cues.spans["praise"][0][0]
        clause = remark.sentence.clause_of(start)
        actors = [s.person for s in remark.subjects if clause[0] <= s.token < clause[1]]
        person = actors[0] if actors else remark.focus
        techniques = [m.entry.id for m in remark.of_sort("technique") if m.mood == "did" and not m.negated]
        recent = [d for d in self.drafts if d.kind == "strength" and d.last >= place - 1 and d.person == person]
        if person.role != "athlete" or recent:
            return
        if any(d.kind == "fault" and d.last == place and clause[0] <= d.token < clause[1] for d in self.drafts):
            return
        if techniques or actors or any(m.meaning == "strength" for m in remark.mentions):
            self._open(person, "strength", place, start, confidence=0.6)

    def _repeat(self, place: int) -> None:
        """ "Again." repeats the last fault (reading guide, rule 9)."""
        last = next((d for d in reversed(self.drafts) if d.kind == "fault" and d.person.role == "athlete"), None)
        if last:
            draft = self._open(last.person, "fault", place, self.remarks[place].sentence.first, confidence=0.8)
            draft.faults, draft.techniques, draft.again = list(last.faults), list(last.techniques), True

    def _fixes(self, place: int, remark: Remark) -> None:
        wanted = [m for m in remark.of_sort("fix") if m.meaning == "fix" and m.person.role == "athlete"]
        for mention in wanted:
            fix = mention.entry.id
            draft = self._answering(place, fix, mention.person)
            if draft:
                if fix not in draft.fixes:
                    draft.fixes.append(fix)
                draft.spread(place)
            elif remark.cues.has("always") or mention.mood == "suppose":
                if mention.mood != "suppose":
                    self._advice(place, mention, fix)
            elif fault := self._answered(mention):
                self._fault(place, remark, mention, mention.person, fault, fix)

    def _advice(self, place: int, mention: Mention, fix: str) -> None:
        here = [d for d in self.drafts if d.kind == "advice" and d.first <= place <= d.last]
        draft = here[0] if here else self._open(mention.person, "advice", place, mention.hit.first, confidence=0.5)
        draft.fixes.append(fix)

    def _answering(self, place: int, fix: str, person: Person) -> _Draft | None:
        """The fault that a fix answers: the nearest whose entry names it, else the nearest; before wins a tie."""
        near = [
            (not self._names(d, fix), d.first > place, max(d.first - place, place - d.last, 0), i)
            for i, d in enumerate(self.drafts)
            if d.kind == "fault" and d.person.role == "athlete" and d.first - _REACH <= place <= d.last + _REACH
        ]
        if not near:
            return None
        best = self.drafts[min(near)[3]]
        return best if self._names(best, fix) or not best.fixes else None

    def _names(self, draft: _Draft, fix: str) -> bool:
        return any(f != UNLISTED and fix in self.lexicon.entries[f].fixes for f in draft.faults)

    def _techniques(self, draft: _Draft) -> list[str]:
        """Techniques named as the person's own action in the draft's sentences, else in the one just before."""
        for places in (range(draft.first, draft.last + 1), range(draft.first - 1, draft.first)):
            found = [
                m.entry.id
                for place in places
                if place >= 0
                for m in self.remarks[place].of_sort("technique")
                if m.person.role == draft.person.role and (draft.kind == "advice" or m.mood == "did") and not m.negated
            ]
            found = list(dict.fromkeys(found))
            parents = {self.lexicon.entries[t].kind_of for t in found}
            found = [t for t in found if t not in parents]
            strong = [t for t in found if t not in _WEAK]
            if strong or found:
                return strong or (found if draft.kind != "fault" else found[:1])
            if draft.kind == "advice":
                break
        return []

    def _open(self, person: Person, kind: Kind, place: int, token: int, *, confidence: float) -> _Draft:
        draft = _Draft(person, kind, place, place, token=token, confidence=confidence)
        self.drafts.append(draft)
        return draft


def _finished(draft: _Draft, remarks: list[Remark], talk: Talk, moments: Moments) -> Observation:
    first, last = remarks[draft.first].sentence, remarks[draft.last].sentence
    quote = talk.quote(first, last)
    return Observation(
        athlete=draft.person.name,
        role=draft.person.role,
        kind=draft.kind,
        techniques=tuple(draft.techniques),
        faults=tuple(draft.faults),
        fixes=tuple(draft.fixes),
        why=_why(draft, remarks, talk) if draft.kind == "fault" else None,
        unlisted=quote if UNLISTED in draft.faults else None,
        start_ms=first.start_ms,
        end_ms=last.end_ms,
        footage_ms=moments.footage(first),
        round=moments.round(first),
        again=draft.again,
        quote=quote,
        confidence=draft.confidence,
    )


def _why(draft: _Draft, remarks: list[Remark], talk: Talk) -> str | None:
    """The clause from the first word of reason on, in the coach's words."""
    for place in range(draft.first, draft.last + 1):
        remark = remarks[place]
        for start, _ in remark.cues.spans.get("reason", ()):
            if start > remark.sentence.first or place > draft.first:
                text = talk.text[talk.tokens.starts[start] : talk.tokens.ends[remark.sentence.last - 1]]
                return text.strip().rstrip(".,;") or None
    return None
