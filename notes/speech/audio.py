"""Sound out of any file that PyAV decodes, stretch by stretch so that hours fit in little memory.

Times are those that a player shows, counted from where the earliest track of the file starts. Where the sound of a
video starts late or pauses, silence stands, so that the place of a sample is its time in the video.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from notes.errors import BadRecording

if TYPE_CHECKING:
    from av.container import InputContainer

RATE_HZ = 16_000
Samples = NDArray[np.float32]

# Containers whose header states the true length, so that a shorter stream means a file cut short.
_HONEST_LENGTH = ("mov", "matroska", "flac")
_STRETCH_S = 300
_SEARCH_S = 30
_FRAME = RATE_HZ // 20
# How far, in samples, sound may be off its stated time without being moved, and how far its time is believed at all.
_OFF = RATE_HZ // 20
_LATE = 3_600 * RATE_HZ
_EARLY = 5 * RATE_HZ
# A telephone's band with some room, and how much of the power may lie outside it; speech at full band has .02 and more.
_TELEPHONE_HZ = (250, 3_700)
_TELEPHONE_SHARE = 0.005


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of a recording: float32, mono, 16 kHz, shape (samples,); `start_ms` is where it begins."""

    samples: Samples
    start_ms: int


def is_by_telephone(samples: Samples) -> bool:
    """Whether nothing but the band of a telephone, 300 to 3,400 Hz (ITU-T G.712, from memory), is in the sound."""
    power = np.square(np.abs(np.fft.rfft(samples)))
    hz = np.fft.rfftfreq(len(samples), 1 / RATE_HZ)
    outside = (hz < _TELEPHONE_HZ[0]) | (hz > _TELEPHONE_HZ[1])
    return bool(power[outside].sum() < _TELEPHONE_SHARE * power.sum())


def sound_length_ms(path: Path) -> int:
    """Length of the sound in ms, found without decoding it.

    Raises BadRecording when the file is missing, empty, no recording, without sound, or cut short.
    """
    _check_file(path)
    with _opened(path) as container:
        stream = container.streams.audio[0]
        last = 0.0
        origin = _origin_s(container)
        try:
            for packet in container.demux(stream):
                if packet.pts is not None and packet.time_base is not None:
                    last = max(last, float((packet.pts + (packet.duration or 0)) * packet.time_base) - origin)
        except _av_error() as error:
            raise BadRecording(f'"{path}" is damaged ({error.strerror}); copy it from the source again') from None
        stated = container.duration / 1_000_000 if container.duration else last + origin
        if (
            container.format.name.startswith(_HONEST_LENGTH)
            and last + origin < stated * 0.9 - 1
            and not _has_video(container)
        ):
            raise BadRecording(_cut_short(path, last + origin, stated))
        if _has_video(container) and last + origin < stated * 0.5 - 1:
            raise BadRecording(_cut_short(path, last + origin, stated))
    if last <= 0:
        raise BadRecording(f'"{path}" holds no sound; is it the right file, and copied whole?')
    return round(last * 1000)


def read_stretches(path: Path) -> Iterator[Stretch]:
    """The sound in stretches of about five minutes, each cut where it is quietest so that no word is split."""
    held = np.zeros(0, dtype=np.float32)
    start = 0
    for chunk in _decoded(path):
        held = np.concatenate([held, chunk])
        while len(held) >= (_STRETCH_S + _SEARCH_S) * RATE_HZ:
            cut = _quietest(held, _STRETCH_S * RATE_HZ, (_STRETCH_S + _SEARCH_S) * RATE_HZ)
            yield Stretch(held[:cut], start * 1000 // RATE_HZ)
            held, start = held[cut:], start + cut
    if len(held):
        yield Stretch(held, start * 1000 // RATE_HZ)


def _quietest(samples: Samples, first: int, last: int) -> int:
    frames = samples[first:last][: (last - first) // _FRAME * _FRAME].reshape(-1, _FRAME)
    loudness = np.convolve(np.square(frames).mean(axis=1), np.ones(5), mode="same")
    return first + int(loudness.argmin()) * _FRAME + _FRAME // 2


def _decoded(path: Path) -> Iterator[Samples]:
    """Mono 16 kHz chunks of a minute or more, each sample at its time."""
    import av

    resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE_HZ)
    with _opened(path) as container:
        stream = container.streams.audio[0]
        origin = _origin_s(container)
        parts: list[Samples] = []
        given = size = 0
        try:
            for frame in container.decode(stream):
                late = round((frame.time - origin) * RATE_HZ) - given - size if frame.time is not None else 0
                if -_EARLY < late < -_OFF:
                    continue
                if _OFF < late < _LATE:
                    parts.append(np.zeros(late, dtype=np.float32))
                    size += late
                for resampled in resampler.resample(frame):
                    parts.append(resampled.to_ndarray()[0].astype(np.float32, copy=False))
                    size += len(parts[-1])
                if size >= 60 * RATE_HZ:
                    yield np.concatenate(parts)
                    given, parts, size = given + size, [], 0
            parts += [last.to_ndarray()[0].astype(np.float32, copy=False) for last in resampler.resample(None)]
        except _av_error() as error:
            raise BadRecording(f'"{path}" is damaged ({error.strerror}); copy it from the source again') from None
    if parts:
        yield np.concatenate(parts)


def _check_file(path: Path) -> None:
    if path.is_dir():
        raise BadRecording(f'"{path}" is a folder; name the recording in it')
    try:
        if path.stat().st_size == 0:
            raise BadRecording(f'"{path}" is empty; copy the recording again')
    except FileNotFoundError:
        raise BadRecording(f'No such file: "{path}"; check the name') from None
    except OSError as error:
        raise BadRecording(f'Cannot read "{path}" ({error.strerror})') from None


def _opened(path: Path) -> "InputContainer":
    import av

    try:
        container = av.open(str(path), metadata_errors="ignore")
    except PermissionError:
        raise BadRecording(f'Not allowed to read "{path}"; mend its permissions') from None
    except _av_error():
        raise BadRecording(
            f'"{path}" is no sound or video that can be read, or it is cut short; '
            "convert it to WAV, FLAC, MP3 or MP4, or copy it again"
        ) from None
    if not container.streams.audio:
        container.close()
        raise BadRecording(f'"{path}" has no sound track; give the file that holds the coach\'s voice')
    return container


def _origin_s(container: "InputContainer") -> float:
    return (container.start_time or 0) / 1_000_000


def _has_video(container: "InputContainer") -> bool:
    return bool(container.streams.video)


def _cut_short(path: Path, last: float, stated: float) -> str:
    return f'"{path}" is cut short: it says {stated:.0f} s and its sound ends at {last:.0f} s; copy it again'


def _av_error() -> type[OSError]:
    from av.error import FFmpegError

    return FFmpegError  # type: ignore[return-value]
