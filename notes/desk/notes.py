"""A note as it stands in the margin."""

from collections.abc import Sequence
from dataclasses import dataclass

from lexicon import Lexicon
from notes.archive.archive import Kept
from notes.model import UNLISTED
from notes.report.caution import CAUTION
from notes.times import clock

_INKS = 5
_SAID = {"strength": "Good", "advice": "Advice", "welfare": "Welfare"}


@dataclass(frozen=True, slots=True)
class Note:
    """What the page shows of an entry, or of what is only offered (`perhaps`). `start`, `end` and `footage` in ms."""

    kept: Kept
    title: str
    on: str
    fix: str
    ink: str
    perhaps: bool

    @property
    def id(self) -> str:
        """The observation's id."""
        return self.kept.observation.id

    @property
    def start(self) -> int | None:
        """When its words begin, None in a talk without times."""
        return self.kept.observation.start_ms if self.kept.timed else None

    @property
    def end(self) -> int | None:
        """When its words end."""
        return self.kept.observation.end_ms if self.kept.timed else None

    @property
    def when(self) -> str:
        """Its moment on the footage as a player shows it, empty where that is unknown."""
        at = self.kept.observation.footage_ms
        return clock(at) if at is not None else ""

    @property
    def state(self) -> str:
        """What a person said of it, else how sure the reading is."""
        if self.kept.verdict:
            return self.kept.verdict
        sure = f"{min(99, round(self.kept.observation.confidence * 100))}\u00a0%\u00a0sure"
        return f"perhaps, {sure}" if self.perhaps else sure

    @property
    def caution(self) -> str:
        """What stands beside a sign that somebody may be hurt."""
        return CAUTION if self.kept.observation.kind == "welfare" else ""

    @property
    def spoken_label(self) -> str:
        """The note in a line, for a screen reader."""
        on = f"on {self.on}" if self.on else ""
        parts = [self.kept.observation.athlete, self.title, on, self.fix, self.when, self.state]
        return ", ".join(part for part in parts if part)


def note_of(kept: Kept, lexicon: Lexicon, inks: Sequence[str], *, perhaps: bool = False) -> Note:
    """An entry as a note, in the ink of its athlete; `inks` names who has the first, the second …"""
    o = kept.observation

    def labels(ids: Sequence[str]) -> str:
        entries = [(i, lexicon.entries.get(i)) for i in ids if i != UNLISTED]
        return ", ".join(entry.label if entry else i for i, entry in entries)

    if o.kind == "fault":
        title, on = labels(o.faults) or "in the coach's own words", labels(o.techniques[:2])
    else:
        title, on = ": ".join(part for part in (_SAID[o.kind], labels(o.techniques)) if part), ""
    ink = inks.index(o.athlete) % _INKS + 1 if o.athlete in inks else 0
    return Note(kept, title, on, labels(o.fixes), f"ink-{ink}", perhaps)
