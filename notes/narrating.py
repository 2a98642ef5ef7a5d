"""A narration while it is spoken: seconds of sound kept as they come, with what the footage did meanwhile.

Each part is a file of its own, written aside and renamed, so that a crash loses the unsent second at most. A take is
an unbroken stretch of recording; going on after a break starts the next take.
"""

import json
import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from notes.errors import TapesideError
from notes.settings import NARRATION_SHEET, NARRATIONS
from notes.sheet import Sheet, read_sheet, write_sheet
from notes.times import Played, TimeMap

if TYPE_CHECKING:
    from av import AudioFrame

RATE_HZ = 16_000
MOST_PART_BYTES = 4 * 192_000 * 2
# Anchors of the footage that agree so well with what is known tell nothing new.
_AGREES_MS = 80
_ID = re.compile(r"[0-9a-f]{12}")


class BadPart(TapesideError):
    """A part of a narration that cannot be taken."""


class Anchor(BaseModel):
    """Where the footage stood at a moment of the take, and how fast it ran from there (0 paused)."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    at_ms: int = Field(ge=0)
    footage_ms: int = Field(ge=0)
    rate: float = Field(ge=0, le=16)


_ANCHORS = TypeAdapter(list[Anchor])


@dataclass(frozen=True, slots=True)
class Narration:
    """One narration's folder in the home."""

    folder: Path

    @property
    def id(self) -> str:
        """Its name in addresses."""
        return self.folder.name

    @property
    def sheet(self) -> Sheet:
        """The facts that were filled in before it began."""
        return read_sheet(self.folder / NARRATION_SHEET)

    @property
    def footage(self) -> Path | None:
        """The footage that was given with it."""
        return next(iter((self.folder / "footage").glob("[!.]*")), None)

    @property
    def seconds(self) -> float:
        """How much was spoken so far."""
        return sum(part.stat().st_size / 2 / rate for _, rate, parts in self._takes() for part in parts)

    def next_take(self) -> int:
        """The number of a take that begins now, from 1."""
        return len({_place(part)[0] for part in self.folder.glob("parts/[!.]*.pcm")}) + 1

    def keep(self, take: int, number: int, rate_hz: int, pcm: bytes, anchors: str) -> None:
        """Keep one part: 16-bit little-endian mono samples, and the anchors that fell into it (a JSON list).

        Sending a part again changes nothing. Raises BadPart for a hole in the numbering, or for no sound at all.
        """
        if not 8_000 <= rate_hz <= 192_000 or not pcm or len(pcm) % 2 or len(pcm) > MOST_PART_BYTES:
            raise BadPart("This part of the narration is no sound that the desk records; reload the page")
        try:
            told = _ANCHORS.validate_json(anchors)
        except ValidationError:
            raise BadPart("What the footage did cannot be read; reload the page") from None
        parts = self.folder / "parts"
        parts.mkdir(exist_ok=True)
        part = parts / f"{take:03}-{number:06}-{rate_hz}.pcm"
        if number and not any(parts.glob(f"{take:03}-{number - 1:06}-*.pcm")):
            raise BadPart(f"Second {number} of the narration came before the one ahead of it; send that first")
        _write(part.with_suffix(".json"), json.dumps([a.model_dump() for a in told]).encode())
        _write(part, pcm)

    def _sound(self) -> "Iterator[AudioFrame]":
        """The whole narration piece by piece, mono 16 kHz, 16 bit."""
        import av

        for _, rate, parts in self._takes():
            resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE_HZ)
            for part in parts:
                pcm = np.frombuffer(part.read_bytes(), dtype="<i2")
                frame = av.AudioFrame.from_ndarray(pcm.reshape(1, -1), format="s16", layout="mono")
                frame.sample_rate = rate
                yield from resampler.resample(frame)
            yield from resampler.resample(None)

    def playback(self) -> TimeMap | None:
        """How the footage ran under the talk; None where there was none."""
        played: list[Played] = []
        begins = 0.0
        for _, rate, parts in self._takes():
            for part in parts:
                for anchor in _ANCHORS.validate_json(part.with_suffix(".json").read_bytes()):
                    _join(played, Played(round(begins) + anchor.at_ms, anchor.footage_ms, anchor.rate))
            begins += sum(part.stat().st_size for part in parts) / 2 / rate * 1000
        return TimeMap(tuple(played)) if played else None

    def save_sound(self, path: Path) -> None:
        """Write the whole narration as FLAC, mono 16 kHz. Raises BadPart when nothing was spoken."""
        import av

        if not self.seconds:
            raise BadPart("Nothing was recorded; press record and speak, then finish")
        unfinished = path.with_name(f".{path.name}")
        with av.open(str(unfinished), "w", format="flac") as out:
            stream = out.add_stream("flac", rate=RATE_HZ, layout="mono")
            for frame in self._sound():
                frame.pts = None
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
        unfinished.replace(path)

    def discard(self) -> None:
        """Throw it away."""
        shutil.rmtree(self.folder)

    def _takes(self) -> Iterator[tuple[int, int, list[Path]]]:
        """Each take's number, samples a second and parts in order."""
        takes: dict[int, list[Path]] = {}
        for part in sorted(self.folder.glob("parts/[!.]*.pcm")):
            takes.setdefault(_place(part)[0], []).append(part)
        for take, parts in takes.items():
            yield take, _place(parts[0])[2], parts


def begin(home: Path, sheet: Sheet, name: str) -> Narration:
    """A new narration under a sheet; `name` is its id, twelve hexadecimal digits."""
    folder = home / NARRATIONS / name
    folder.mkdir(parents=True, mode=0o700)
    write_sheet(sheet, folder / NARRATION_SHEET)
    return Narration(folder)


def find(home: Path, name: str) -> Narration | None:
    """The narration of that id, if it is still unfinished."""
    folder = home / NARRATIONS / name
    return Narration(folder) if _ID.fullmatch(name) and (folder / NARRATION_SHEET).is_file() else None


def unfinished(home: Path) -> list[Narration]:
    """Narrations that were begun and neither finished nor thrown away, the oldest first."""
    folders = sorted((home / NARRATIONS).glob(f"*/{NARRATION_SHEET}"), key=lambda sheet: sheet.stat().st_mtime)
    return [Narration(sheet.parent) for sheet in folders]


def _join(played: list[Played], new: Played) -> None:
    if played and played[-1].rate == new.rate:
        foreseen = TimeMap(tuple(played[-1:])).footage(new.at_ms)
        if foreseen is not None and abs(foreseen - new.footage_ms) <= _AGREES_MS:
            return
    played.append(new)


def _place(part: Path) -> tuple[int, int, int]:
    take, number, rate = part.stem.split("-")
    return int(take), int(number), int(rate)


def _write(path: Path, data: bytes) -> None:
    unfinished = path.with_name(f".{path.name}")
    with unfinished.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    unfinished.replace(path)
