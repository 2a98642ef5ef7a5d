"""Recordings made on the spot, for tests."""

import wave
from fractions import Fraction
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


def write_phone_video(
    path: Path, *, audio_s: float = 0, video_s: float = 0, pause_s: float = 0, rate_hz: int = 48_000
) -> Path:
    """Six seconds, pictures at uneven times, a beep at 2 s of the sound's own time; tracks start where they are told.

    `pause_s` of nothing stand after the first second of sound. AAC and H.264, Opus and VP8 for .webm.
    """
    sound_codec, picture_codec = ("libopus", "libvpx") if path.suffix == ".webm" else ("aac", "libx264")
    with av.open(str(path), "w") as out:
        picture = out.add_stream(picture_codec, rate=30)
        picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
        voice = out.add_stream(sound_codec, rate=rate_hz, layout="mono")
        sound = np.zeros(6 * rate_hz, np.float32)
        sound[2 * rate_hz : 2 * rate_hz + rate_hz // 2] = 0.5 * np.sin(np.arange(rate_hz // 2) / 10)
        step = 960 if sound_codec == "libopus" else 1024
        for first in range(0, len(sound), step):
            chunk = av.AudioFrame.from_ndarray(sound[None, first : first + step], format="fltp", layout="mono")
            if voice.format.name != "fltp":
                chunk = av.AudioFrame.from_ndarray(sound[None, first : first + step], format="flt", layout="mono")
            chunk.sample_rate, chunk.time_base = rate_hz, Fraction(1, rate_hz)
            chunk.pts = first + round((audio_s + (pause_s if first > rate_hz else 0)) * rate_hz)
            out.mux(voice.encode(chunk))
        out.mux(voice.encode(None))
        for number in range(180):
            shown = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 128, np.uint8), format="rgb24")
            shown.time_base = Fraction(1, 90)
            shown.pts = 3 * number + number % 2 + round(video_s * 90)
            out.mux(picture.encode(shown))
        out.mux(picture.encode(None))
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


def bag(seconds: float, rate_hz: int = 16_000) -> np.ndarray:
    """Blows on a heavy bag: low noise that dies away in a tenth of a second, at uneven times, a rattle of chain."""
    chance = np.random.default_rng(7)
    sound = chance.normal(0, 0.002, int(seconds * rate_hz))
    blow = int(0.35 * rate_hz)
    fall = np.exp(-np.arange(blow) / (0.06 * rate_hz))
    for start in np.cumsum(chance.uniform(0.3, 1.2, int(seconds * 2))):
        first = int(start * rate_hz)
        if first + blow > len(sound):
            break
        low = np.convolve(chance.normal(0, 1, blow), np.ones(40) / 40, mode="same")
        sound[first : first + blow] += fall * (0.9 * low + 0.05 * chance.normal(0, 1, blow))
    return sound.astype(np.float32)


def bell(seconds: float, rate_hz: int = 16_000) -> np.ndarray:
    """A round bell struck three times, every ten seconds."""
    at = np.arange(int(seconds * rate_hz)) / rate_hz
    sound = np.zeros_like(at)
    for start in (s + stroke for s in np.arange(1, seconds, 10) for stroke in (0, 0.5, 1.0)):
        ring = np.where(at >= start, np.exp(-(at - start) * 2.5), 0)
        sound += ring * sum(a * np.sin(2 * np.pi * hz * at) for hz, a in ((830, 0.2), (1_790, 0.1), (2_910, 0.06)))
    return sound.astype(np.float32)


def music(seconds: float, rate_hz: int = 16_000) -> np.ndarray:
    """Chords over a beat of 120 a minute."""
    at = np.arange(int(seconds * rate_hz)) / rate_hz
    bar = (at // 2).astype(int) % 4
    roots = np.array([220.0, 174.6, 261.6, 196.0])[bar]
    chord = sum(np.sin(2 * np.pi * np.cumsum(roots * part) / rate_hz) for part in (1, 1.26, 1.5, 2)) * 0.05
    beat = np.exp(-(at % 0.5) * 30) * np.sin(2 * np.pi * 60 * at) * 0.4
    hiss = np.exp(-((at + 0.25) % 0.5) * 60) * np.random.default_rng(8).normal(0, 0.1, len(at))
    return (chord + beat + hiss).astype(np.float32)


def crowd(seconds: float, voices: list[np.ndarray], rate_hz: int = 16_000) -> np.ndarray:
    """Many people at once, none to be understood: speech played backwards, two dozen times over itself."""
    chance = np.random.default_rng(9)
    length = int(seconds * rate_hz)
    sound = np.zeros(length, np.float32)
    backwards = np.concatenate([v[::-1] for v in voices])
    for _ in range(24):
        turned = np.roll(np.resize(backwards, length), chance.integers(length))
        sound += turned * chance.uniform(0.2, 1)
    return sound / np.abs(sound).max() * 0.4


def telephone(samples: np.ndarray, rate_hz: int = 16_000, low_hz: float = 300, high_hz: float = 3_400) -> np.ndarray:
    """Only what a telephone lets through, or another band, with steep edges."""
    spectrum = np.fft.rfft(samples)
    hz = np.fft.rfftfreq(len(samples), 1 / rate_hz)
    return np.fft.irfft(np.where((hz > low_hz) & (hz < high_hz), spectrum, 0), len(samples)).astype(np.float32)
