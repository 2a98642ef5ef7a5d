"""A note as it stands in the margin."""

from collections.abc import Sequence
from dataclasses import dataclass

from lexicon import Lexicon
from notes.archive.archive import Kept
from notes.model import UNLISTED
from notes.report.caution import CAUTION
from notes.times import clock

_INKS = 5


@dataclass(frozen=True, slots=True)
class Note:
    """What the page shows of an entry. Times in ms, `start` and `end` of the recording; None where unknown."""

    id: str
    title: str
    on: str
    fix: str
    person: str
    when: str
    round: int | None
    again: bool
    kind: str
    ink: str
    state: str
    verdict: str | None
    perhaps: bool
    caution: str
    start: int | None
    end: int | None
    footage: int | None
    quote: str
    confidence: float

    @property
    def spoken_label(self) -> str:
        """The note in a line, for a screen reader."""
        parts = [
            self.person,
            self.kind,
            self.title,
            f"on {self.on}" if self.on else "",
            self.fix,
            self.when,
            self.state,
        ]
        return ", ".join(part for part in parts if part)


def note_of(kept: Kept, lexicon: Lexicon, athletes: Sequence[str]) -> Note:
    """An entry as a note, in the ink of its athlete: the order of the sheet's athletes gives the inks."""
    o = kept.observation

    def label(term: str) -> str:
        entry = lexicon.entries.get(term)
        return entry.label if entry else term

    faults = [label(f) for f in o.faults if f != UNLISTED]
    techniques = [label(t) for t in o.techniques]
    if o.kind == "fault":
        title, on = ", ".join(faults) or "in the coach's own words", ", ".join(techniques[:2])
    else:
        said = {"strength": "Good", "advice": "Advice", "welfare": "Welfare"}[o.kind]
        title, on = f"{said}: {', '.join(techniques)}" if techniques else said, ""
    known = o.role == "athlete" and o.athlete in athletes
    sure = f"{o.confidence:.0%} sure" if not kept.verdict else kept.verdict
    return Note(
        id=o.id,
        title=title,
        on=on,
        fix=", ".join(label(f) for f in o.fixes),
        person=o.athlete,
        when=clock(o.footage_ms) if o.footage_ms is not None else "",
        round=o.round,
        again=o.again,
        kind=o.kind,
        ink=f"ink-{list(athletes).index(o.athlete) % _INKS + 1}" if known else "ink-0",
        state=f"perhaps, {sure}" if kept.perhaps and not kept.verdict else sure,
        verdict=kept.verdict,
        perhaps=kept.perhaps,
        caution=CAUTION if o.kind == "welfare" else "",
        start=o.start_ms if kept.timed else None,
        end=o.end_ms if kept.timed else None,
        footage=o.footage_ms,
        quote=o.quote,
        confidence=o.confidence,
    )
