"""What came of learning from corrections, and how that is told, by command and desk alike."""

from collections import Counter
from dataclasses import dataclass, field

from notes.counting import many
from notes.reading.second.club import BEGINS, MERGING, Club
from notes.reading.second.refit import Figures

# A part learns from so many corrections at least, and what is there from so many of either sort.
LEAST = 6
LEAST_EITHER = 3
NEXT = "Nothing in the log has changed; to read the kept transcripts again: tapeside reread"
_LABELS = {
    BEGINS: "what is heard",
    MERGING: "what of it is believed",
    "fault": "which fault",
    "technique": "which technique",
}


@dataclass(frozen=True, slots=True)
class Part:
    """What came of a part of the reader: `figures` where there were corrections enough, whether it was taken over."""

    name: str
    count: int
    figures: Figures | None

    @property
    def taken(self) -> bool:
        """Whether it is read by from now on."""
        return bool(self.figures and self.figures.better)

    @property
    def label(self) -> str:
        """The part in words."""
        return _LABELS[self.name]

    @property
    def right(self) -> str:
        """How many held-back corrections are read right, before and after; empty where it could not be tried."""
        f = self.figures
        return f"{f.right_before} → {f.right_after} of {f.count}" if f else ""

    @property
    def loss(self) -> str:
        """The log loss on those, before and after."""
        f = self.figures
        return f"{f.loss_before:.3f} → {f.loss_after:.3f}" if f else ""

    @property
    def outcome(self) -> str:
        """What was made of it."""
        if self.figures is None:
            either = f", {LEAST_EITHER} of them struck and {LEAST_EITHER} not" if self.name in (BEGINS, MERGING) else ""
            return f"too few to learn from: {self.count}; needed are {LEAST}{either}"
        return "taken" if self.taken else "refused: not clearly better than as it comes"


@dataclass(slots=True)
class Lesson:
    """What was learned from how many recordings and verdicts of each state. `club` is what is read by from now on,
    None where no part was taken over: then all stays as it was."""

    recordings: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    parts: list[Part] = field(default_factory=list)
    club: Club | None = None

    @property
    def taught_by(self) -> str:
        """What it was learned from."""
        states = ", ".join(f"{self.verdicts[state]} {state}" for state in ("kept", "amended", "struck"))
        return f"Corrections: {states}, in {many(self.recordings, 'recording')}. Tried on those held back:"

    @property
    def outcome(self) -> str:
        """What follows from it."""
        return f"Learned. {NEXT}" if self.club else "Nothing was learned; all is read as before."


def told_of_going_back(before: bool) -> str:
    """What holds after a lesson was taken back; `before` tells whether there was another before it."""
    return "It reads by what was learned before." if before else "The second reader reads as it comes."
