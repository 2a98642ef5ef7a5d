"""How sure a reading is: how often its kind of evidence was right where people had marked the same talk."""

from notes.model import UNLISTED
from notes.reading.drafts import Draft, Evidence

_RIGHT: dict[Evidence, float] = {
    "name": 0.75,
    "lack": 0.75,
    "order": 0.7,
    "unknown order": 0.5,
    "picture": 0.5,
    "repeat": 0.7,
    "praise": 0.7,
    "denial": 0.7,
    "change": 0.7,
    "rule": 0.6,
    "opening": 0.5,
    "sign": 0.6,
}
_WITH_FIX = 0.1


def confidence(draft: Draft) -> float:
    """The share of drafts on such evidence that a person would keep; a fault with its fix is surer."""
    told_whole = draft.kind == "fault" and draft.fixes and UNLISTED not in draft.faults
    return round(_RIGHT[draft.evidence] + (_WITH_FIX if told_whole else 0), 2)
