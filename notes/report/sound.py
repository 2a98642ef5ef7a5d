"""The sound of a clip: parts of recordings laid on one line of time, mixed, and levelled to EBU R 128."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from notes.errors import BadRecording

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.filter import Graph

RATE_HZ = 48_000
# EBU R 128 (2023): programme loudness -23.0 LUFS, true peak at most -1 dBTP.
TARGET_LUFS = -23.0
PEAK_DBTP = -1.0
# Quieter than this is taken for silence, which levelling would turn into a roar (common practice, no source).
SILENCE_LUFS = -60.0
# The coach stands above the sound of the gym by so much (common practice, no source).
_FOOTAGE_UNDER_VOICE_DB = -12.0
_CHUNK = RATE_HZ // 10
# Decoding starts this much early, since the first frames after a seek are not whole (AAC, Opus pre-roll).
_RUN_UP_S = 0.3

# float32 in -1..1, shape (2, samples), 48 kHz.
Samples = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a recording, and where in the clip it is heard; ms. `voice` marks the coach's narration."""

    path: Path
    start_ms: int
    end_ms: int
    at_ms: int
    voice: bool


def mixed(parts: Iterable[Part], length_ms: int) -> Samples | None:
    """The sound of a clip of `length_ms`, levelled; None where no part has a sound track."""
    voice, footage = silence(length_ms), silence(length_ms)
    tracks = 0
    for part in parts:
        heard = sound_of(part.path, part.start_ms, part.end_ms)
        if heard is None:
            continue
        tracks += 1
        first = part.at_ms * RATE_HZ // 1000
        into = voice if part.voice else footage
        heard = heard[:, : into.shape[1] - first]
        into[:, first : first + heard.shape[1]] += heard
    if not tracks:
        return None
    if voice.any() and footage.any():
        return levelled(levelled(voice) + levelled(footage) * _ratio(_FOOTAGE_UNDER_VOICE_DB))
    return levelled(voice + footage)


def sound_of(path: Path, start_ms: int, end_ms: int) -> Samples | None:
    """Part of a recording in stereo, silent where there is none; None for a file without a sound track.

    Time 0 is where players start the file. Raises BadRecording where the file cannot be read.
    """
    import av
    from av.error import FFmpegError

    out = silence(end_ms - start_ms)
    first = start_ms * RATE_HZ // 1000
    try:
        with av.open(str(path), metadata_errors="ignore") as container:
            if not container.streams.audio:
                return None
            stream = container.streams.audio[0]
            zero = Fraction(container.start_time or 0, 1_000_000)
            seek = int((zero + Fraction(start_ms, 1000) - Fraction(_RUN_UP_S)) * 1_000_000)
            if start_ms > _RUN_UP_S * 1000:
                container.seek(seek)
            resampler = av.AudioResampler(format="fltp", layout="stereo", rate=RATE_HZ)
            at: int | None = None
            for frame in container.decode(stream):
                if frame.pts is None:
                    continue
                due = round((frame.pts * (frame.time_base or 0) - zero) * RATE_HZ) - first
                if at is None or abs(due - at) > RATE_HZ // 20:
                    at = due
                if at >= out.shape[1]:
                    break
                for piece in resampler.resample(frame):
                    at = _lay(out, _samples(piece), at)
            if at is not None:
                for piece in resampler.resample(None):
                    at = _lay(out, _samples(piece), at)
    except FFmpegError as error:
        raise BadRecording(f'The sound of "{path}" cannot be read ({error.strerror}); copy it again') from None
    return out


def levelled(samples: Samples) -> Samples:
    """The same sound at -23 LUFS, with peaks held under -1 dBTP; near silence is left as it is.

    Holding peaks takes loudness away, so the gain is corrected until the whole is within .2 LU.
    """
    loudness, peak = measure(samples)
    if loudness < SILENCE_LUFS:
        return samples
    gain = TARGET_LUFS - loudness
    if peak + gain <= PEAK_DBTP:
        return (samples * _ratio(gain)).astype(np.float32)
    out = samples
    for _ in range(6):
        out = _limited((samples * _ratio(gain)).astype(np.float32))
        loudness, _ = measure(out)
        if abs(loudness - TARGET_LUFS) < 0.2:
            break
        gain += TARGET_LUFS - loudness
    return out


def measure(samples: Samples) -> tuple[float, float]:
    """Integrated loudness in LUFS (ITU-R BS.1770-4, by FFmpeg's ebur128) and true peak in dBTP.

    Shorter than a gating block of .4 s is measured as if silence followed.
    """
    graph = _graph(("ebur128", "metadata=1:peak=true"))
    # The meter speaks after each whole tenth of a second.
    chunks = max(5, -(-samples.shape[1] // _CHUNK))
    samples = np.pad(samples, ((0, 0), (0, chunks * _CHUNK - samples.shape[1])))
    told: dict[str, str] = {}
    for frame in _through(graph, samples):
        told = frame.metadata
    peak = float(told["lavfi.r128.true_peak"])
    return float(told["lavfi.r128.I"]), 20 * float(np.log10(max(peak, 1e-9)))


def _limited(samples: Samples) -> Samples:
    # Oversampling lets the limiter see true peaks; half a dB of room is left for the encoder.
    top = _ratio(PEAK_DBTP - 0.5)
    graph = _graph(
        ("aresample", f"{RATE_HZ * 4}"),
        ("alimiter", f"limit={top}:attack=5:release=50:level=false:latency=true"),
        ("aresample", f"{RATE_HZ}"),
        ("aformat", "sample_fmts=fltp:channel_layouts=stereo"),
    )
    out = np.concatenate([_samples(frame) for frame in _through(graph, samples)], axis=1)
    return np.pad(out, ((0, 0), (0, max(0, samples.shape[1] - out.shape[1]))))[:, : samples.shape[1]]


def _graph(*filters: tuple[str, str]) -> "Graph":
    from av.filter import Graph

    graph = Graph()
    last = graph.add_abuffer(format="fltp", sample_rate=RATE_HZ, layout="stereo", time_base=Fraction(1, RATE_HZ))
    for name, options in (*filters, ("abuffersink", "")):
        following = graph.add(name, options)
        last.link_to(following)
        last = following
    graph.configure()
    return graph


def _through(graph: "Graph", samples: Samples) -> Iterator["AudioFrame"]:
    from av import AudioFrame
    from av.error import BlockingIOError, EOFError

    for frame in (*frames(samples, _CHUNK), None):
        graph.push(frame)
        while True:
            try:
                out = graph.pull()
            except (BlockingIOError, EOFError):
                break
            if isinstance(out, AudioFrame):
                yield out


def frames(samples: Samples, size: int, start: int = 0) -> Iterator["AudioFrame"]:
    """The samples as PyAV frames of `size` samples, the last one shorter; the first at `start`, counted in samples."""
    import av

    for first in range(0, samples.shape[1], size):
        piece = np.ascontiguousarray(samples[:, first : first + size])
        frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout="stereo")
        frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, start + first, Fraction(1, RATE_HZ)
        yield frame


def _samples(frame: "AudioFrame") -> Samples:
    return frame.to_ndarray().astype(np.float32, copy=False)


def _lay(out: Samples, piece: Samples, at: int) -> int:
    """Put a piece at a sample position that may lie outside; the position after it."""
    end: int = at + piece.shape[1]
    first, last = max(at, 0), min(end, out.shape[1])
    if first < last:
        out[:, first:last] = piece[:, first - at : last - at]
    return end


def silence(length_ms: int) -> Samples:
    """So much of nothing."""
    return np.zeros((2, max(0, length_ms) * RATE_HZ // 1000), dtype=np.float32)


def _ratio(decibels: float) -> float:
    return float(10 ** (decibels / 20))
