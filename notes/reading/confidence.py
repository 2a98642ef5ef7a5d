"""How sure a reading is: how often its kind of evidence was right where people had marked the same talk."""

from notes.model import UNLISTED
from notes.reading.drafts import Draft, Evidence

_RIGHT: dict[Evidence, float] = {
    "name": 0.7,
    "lack": 0.55,
    "order": 0.6,
    "unknown order": 0.6,
    "picture": 0.6,
    "repeat": 0.7,
    "praise": 0.7,
    "denial": 0.7,
    "change": 0.85,
    "rule": 0.75,
    "opening": 0.3,
    "sign": 0.55,
    "judged": 0.7,
}
_NAMED_WITH_FIX = 0.88


def confidence(draft: Draft) -> float:
    """The share of drafts on such evidence that a person would keep; a named fault with its fix is surest."""
    if draft.confidence is not None:
        return draft.confidence
    if draft.evidence == "name" and draft.fixes and UNLISTED not in draft.faults:
        return _NAMED_WITH_FIX
    return _RIGHT[draft.evidence]
