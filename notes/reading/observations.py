"""A transcript into observations."""

from collections.abc import Iterable
from dataclasses import dataclass

from lexicon import Lexicon
from notes.model import UNLISTED, Observation, Transcript
from notes.reading.confidence import confidence
from notes.reading.drafts import Draft
from notes.reading.joining import Joiner
from notes.reading.merging import Merger
from notes.reading.people import Person
from notes.reading.remarks import Remark, read_remarks
from notes.reading.second.reader import SecondReader
from notes.reading.talk import Talk, read_talk
from notes.reading.when import Moments
from notes.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Review:
    """What a review holds, in spoken order: the observations; those too unsure to be logged, which a person may keep;
    the sentences whose spoken time is impossible."""

    observations: tuple[Observation, ...]
    perhaps: tuple[Observation, ...]
    impossible: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Material:
    """What a review is read from: its talk, what the first reader makes of it, and the moments spoken of."""

    sheet: Sheet
    talk: Talk
    remarks: list[Remark]
    drafts: list[Draft]
    moments: Moments

    def merger(self, second: SecondReader) -> Merger:
        """What both readers know of the review; there must be remarks."""
        athletes = tuple(Person(a.name, "athlete") for a in self.sheet.athletes)
        return Merger(second, second.judge(self.talk, self.sheet), self.remarks, athletes, second.weights)

    def observation(self, draft: Draft) -> Observation:
        """A draft as an observation, with its words, times and confidence."""
        return finished(draft, self.remarks, self.talk, self.moments)


def read_material(transcript: Transcript, sheet: Sheet, lexicon: Lexicon) -> Material:
    """What the first reader makes of a review. What the sheet marks as not the coach's is not read."""
    talk = read_talk(transcript.without(sheet.not_coach_ms), lexicon, sheet.names)
    remarks = read_remarks(talk, sheet, lexicon)
    moments = Moments(talk, sheet, timed=transcript.timed, playback=transcript.playback)
    return Material(sheet, talk, remarks, Joiner(lexicon, sheet, remarks).read(), moments)


def read_review(transcript: Transcript, sheet: Sheet, lexicon: Lexicon, second: SecondReader | None = None) -> Review:
    """Everything that a review holds, by both readers, or by the first alone where `second` is None.

    Pure: the same words, sheet, lexicon and weights give the same result.
    """
    material = read_material(transcript, sheet, lexicon)
    drafts = material.drafts
    unsure: set[int] = set()
    if second and material.remarks:
        merger = material.merger(second)
        drafts = merger.merge(drafts)
        unsure = {id(d) for d in drafts if d.person.role == "athlete" and not merger.logs(d)}

    def in_order(chosen: Iterable[Draft]) -> tuple[Observation, ...]:
        found = map(material.observation, chosen)
        return tuple(sorted(found, key=lambda o: (o.start_ms, o.end_ms, o.athlete, o.kind, o.faults, o.techniques)))

    return Review(
        observations=in_order(d for d in drafts if id(d) not in unsure),
        perhaps=in_order(d for d in drafts if id(d) in unsure and _offered(d)),
        impossible=tuple(material.moments.impossible),
    )


# Observations less sure than this are not even offered, but for signs that someone may be hurt.
_OFFERED = 0.15


def _offered(draft: Draft) -> bool:
    return draft.evidence == "sign" or (draft.confidence or 0) >= _OFFERED


def read_observations(transcript: Transcript, sheet: Sheet, lexicon: Lexicon) -> tuple[Observation, ...]:
    """Every observation of a review by the first reader alone, in spoken order."""
    return read_review(transcript, sheet, lexicon).observations


def finished(draft: Draft, remarks: list[Remark], talk: Talk, moments: Moments) -> Observation:
    """A draft as an observation, with its words, times and confidence."""
    first, last = remarks[draft.first].sentence, remarks[draft.last].sentence
    told = next(r.sentence for r in remarks[draft.first :] if draft.token < r.sentence.last)
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
        footage_ms=moments.footage(told),
        round=moments.round(told),
        again=draft.again,
        quote=quote,
        confidence=confidence(draft),
    )


def _why(draft: Draft, remarks: list[Remark], talk: Talk) -> str | None:
    """What follows the first word of reason, in the coach's words."""
    for place in range(draft.first, draft.last + 1):
        remark = remarks[place]
        for start, _ in remark.cues.spans.get("reason", ()):
            if start > remark.sentence.first or place > draft.first:
                while start < remark.sentence.last and talk.tokens.forms[start] in _LINKS:
                    start += 1
                end = remark.sentence.last
                while end > start + 1 and talk.tokens.forms[end - 1] in _DANGLING:
                    end -= 1
                text = talk.text[talk.tokens.starts[start] : talk.tokens.ends[end - 1]]
                return text.strip().rstrip(".,;!") or None
    return None


_LINKS = frozenset("and so because since or then".split())
# A reason that ends in one of these was cut off there.
_DANGLING = frozenset("a an the with to of in on at for from by and or but your his her their my our".split())
