"""Short reviews made on the spot."""

from typing import Any

from lexicon import Lexicon
from notes.model import Observation, Segment, Transcript
from notes.reading.observations import read_observations
from notes.sheet import Sheet

ATHLETE = {"name": "Mara", "aliases": ["Mo"], "stance": "orthodox"}


def sheet(**keys: Any) -> Sheet:
    """A kickboxing sheet of Mara against Devon, with other keys as given."""
    facts = {"sport": "kickboxing", "athletes": [ATHLETE], "opponent": {"name": "Devon"}}
    return Sheet.model_validate(facts | keys)


def talk(*sentences: str, gap_ms: int = 1_000) -> Transcript:
    """One caption of three seconds for each sentence."""
    step = 3_000 + gap_ms
    return Transcript(tuple(Segment(i * step, i * step + 3_000, s) for i, s in enumerate(sentences)), model="test")


def read(vocabulary: Lexicon, *sentences: str, **keys: Any) -> list[Observation]:
    """What is logged for athletes."""
    found = read_observations(talk(*sentences), sheet(**keys), vocabulary)
    return [o for o in found if o.role == "athlete"]
