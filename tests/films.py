"""Footage whose frames say which one they are, for tests: the frame's number is drawn in it, in black and white bits."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

BITS = 12
_WIDTH, _HEIGHT = 320, 240
_BOX = 24
TICK = Fraction(1, 1000)


def write_counted(
    path: Path,
    count: int,
    *,
    rate: Fraction = Fraction(25),
    times_ms: Sequence[int] | None = None,
    rotation: int = 0,
    sound: np.ndarray | None = None,
) -> Path:
    """`count` numbered frames at a rate, or each at its own time; `sound` is float32 of shape (1 or 2, samples), 48 kHz."""
    with av.open(str(path), "w") as out:
        picture = out.add_stream("libx264", rate=rate, options={"preset": "ultrafast", "g": "30"})
        picture.width, picture.height, picture.pix_fmt = _WIDTH, _HEIGHT, "yuv420p"
        picture.time_base = picture.codec_context.time_base = TICK if times_ms else 1 / rate
        if rotation:
            picture.set_display_rotation(rotation)
        voice = None
        if sound is not None:
            layout = "stereo" if len(sound) == 2 else "mono"
            voice = out.add_stream("aac", rate=48_000, layout=layout)
        for number in range(count):
            frame = av.VideoFrame.from_ndarray(_numbered(number), format="gray").reformat(format="yuv420p")
            frame.pts = times_ms[number] if times_ms else number
            frame.time_base = picture.codec_context.time_base
            out.mux(picture.encode(frame))
        out.mux(picture.encode(None))
        if voice is not None:
            for first in range(0, sound.shape[1], 1024):
                piece = np.ascontiguousarray(sound[:, first : first + 1024], dtype=np.float32)
                heard = av.AudioFrame.from_ndarray(piece, format="fltp", layout=layout)
                heard.sample_rate, heard.pts, heard.time_base = 48_000, first, Fraction(1, 48_000)
                out.mux(voice.encode(heard))
            out.mux(voice.encode(None))
    return path


def read_counted(path: Path) -> list[tuple[int, float]]:
    """The numbers drawn in the frames of a film, each with its time in seconds."""
    with av.open(str(path)) as film:
        return [(_number(frame.to_ndarray(format="gray")), frame.time) for frame in film.decode(film.streams.video[0])]


def _numbered(number: int) -> np.ndarray:
    picture = np.full((_HEIGHT, _WIDTH), 128, np.uint8)
    for bit in range(BITS):
        picture[:_BOX, bit * _BOX : (bit + 1) * _BOX] = 235 if number >> bit & 1 else 16
    return picture


def _number(picture: np.ndarray) -> int:
    middle = _BOX // 2
    return sum(1 << bit for bit in range(BITS) if picture[middle, bit * _BOX + middle] > 128)


def tone(seconds: float, decibels: float, *, hertz: float = 1000, channels: int = 2) -> np.ndarray:
    """A sine of a level in dBFS (peak), float32 of shape (channels, samples), 48 kHz."""
    wave = 10 ** (decibels / 20) * np.sin(2 * np.pi * hertz * np.arange(round(seconds * 48_000)) / 48_000)
    return np.tile(wave.astype(np.float32), (channels, 1))
