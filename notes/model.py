"""The values that travel between the stages. Frozen; nothing is changed in place; times in ms."""

import hashlib
from dataclasses import dataclass, replace
from typing import Literal

from notes.times import TimeMap

Role = Literal["athlete", "opponent", "coach"]
Kind = Literal["fault", "strength", "advice", "welfare"]
UNLISTED = "unlisted"


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word; `probability` 0 to 1; `heard` is what the recogniser wrote where it was repaired."""

    text: str
    start_ms: int
    end_ms: int
    probability: float | None = None
    heard: str | None = None


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of talk: a recogniser's segment (with words) or a caption cue (without)."""

    start_ms: int
    end_ms: int
    text: str
    words: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class Transcript:
    """What was said, in order of time. `model` names what wrote it: a speech model, or the caption format.

    Of plain text without times (`timed` False) the "times" only keep the order and are shown as unknown.
    `playback` tells how the footage ran under a talk narrated at the desk; without it, live footage ran beside it.
    """

    segments: tuple[Segment, ...]
    model: str
    language: str = "en"
    timed: bool = True
    playback: TimeMap | None = None

    @property
    def sha256(self) -> str:
        """A fingerprint of words and times."""
        lines = (f"{s.start_ms}\t{s.end_ms}\t{s.text}" for s in self.segments)
        return hashlib.sha256("\n".join(lines).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Observation:
    """One thing the coach said of one person. Spoken times are ms of the recording, footage ms of the video."""

    athlete: str
    role: Role
    kind: Kind
    techniques: tuple[str, ...]
    faults: tuple[str, ...]
    fixes: tuple[str, ...]
    why: str | None
    unlisted: str | None
    start_ms: int
    end_ms: int
    footage_ms: int | None
    round: int | None
    again: bool
    quote: str
    confidence: float
    id: str = ""

    def with_id(self, recording_sha256: str) -> "Observation":
        """The same observation, named by the recording and what was read: equal readings get equal ids."""
        parts = [recording_sha256, self.athlete, self.role, self.kind, str(self.start_ms), str(self.end_ms)]
        parts += [",".join(self.techniques), ",".join(self.faults), self.quote]
        return replace(self, id=hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12])


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything read from one recording, with fingerprints of what it was read from.

    `perhaps` holds what is too unsure to be logged;
    `impossible` quotes spoken times past their round's end, which were not used;
    `second_sha256` is None where the first reader read alone.
    """

    recording: str
    recording_sha256: str
    transcript: Transcript
    lexicon_sha256: str
    observations: tuple[Observation, ...]
    perhaps: tuple[Observation, ...] = ()
    impossible: tuple[str, ...] = ()
    second_sha256: str | None = None
