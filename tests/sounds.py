"""Recordings made on the spot, for tests."""

import wave
from pathlib import Path

import av
import numpy as np


def write_wav(path: Path, samples: np.ndarray, rate_hz: int = 16_000) -> Path:
    """float32 samples in -1..1, mono, as 16-bit WAV."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate_hz)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def write_video(path: Path, seconds: float, *, sound: bool) -> Path:
    """A grey H.264 video, with a tone or without a sound track."""
    with av.open(str(path), "w") as out:
        picture = out.add_stream("libx264", rate=10)
        picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
        if sound:
            voice = out.add_stream("aac", rate=16_000, layout="mono")
            tone = np.sin(np.arange(int(seconds * 16_000)) / 20).astype(np.float32)[None] * 0.2
            for first in range(0, tone.shape[1], 1024):
                chunk = av.AudioFrame.from_ndarray(tone[:, first : first + 1024], format="fltp", layout="mono")
                chunk.sample_rate, chunk.pts = 16_000, first
                out.mux(voice.encode(chunk))
            out.mux(voice.encode(None))
        for _ in range(int(seconds * 10)):
            out.mux(picture.encode(av.VideoFrame.from_ndarray(np.full((48, 64, 3), 128, np.uint8), format="rgb24")))
        out.mux(picture.encode(None))
    return path
