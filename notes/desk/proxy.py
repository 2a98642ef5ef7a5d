"""A copy of the footage that browsers play, where they do not play the original: H.264 and AAC in MP4.

Browsers "play" HEVC and MPEG-4 part 2 with a picture of no width, and open neither MKV nor AVI. Times stay as filmed: a
moment of the original is the same moment of the copy.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from notes.errors import BadRecording
from notes.report.film import TIME_BASE
from notes.report.upright import Upright

if TYPE_CHECKING:
    from av.container import InputContainer, OutputContainer

_CONTAINERS = ("mov", "webm")
_VIDEO = frozenset({"h264", "vp8", "vp9", "av1"})
_SOUND = frozenset({"aac", "mp3", "opus", "vorbis", "flac"})
_PIXELS = frozenset({"yuv420p", "yuvj420p"})
_MOST_LINES = 1080


def plays_in_browsers(path: Path) -> bool:
    """Whether browsers show this footage as it is. Raises BadRecording when it is no video."""
    with _opened(path) as footage:
        video = footage.streams.video[0]
        sounds = footage.streams.audio
        return (
            (
                footage.format.name.startswith(_CONTAINERS)
                or (footage.format.name.startswith("matroska") and path.suffix.lower() == ".webm")
            )
            and _plain(video)
            and all(s.codec_context.name in _SOUND for s in sounds[:1])
        )


def make_proxy(path: Path, copy: Path, tell: Callable[[float], None]) -> None:
    """Write the copy; `tell` hears the share done, 0 to 1. What is unfinished is never left under the copy's name.

    A picture that browsers know is taken over as it is. Raises BadRecording when the footage cannot be decoded.
    """
    import av
    from av.error import FFmpegError

    copy.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    unfinished = copy.with_name(f".{copy.name}")
    try:
        with (
            _opened(path) as footage,
            av.open(str(unfinished), "w", format="mp4", options={"movflags": "+faststart"}) as out,
        ):
            _convert(footage, out, tell)
        unfinished.replace(copy)
    except FFmpegError as error:
        raise BadRecording(f'"{path.name}" cannot be shown ({error.strerror}); convert it to MP4 with H.264') from None
    finally:
        unfinished.unlink(missing_ok=True)


def _convert(footage: "InputContainer", out: "OutputContainer", tell: Callable[[float], None]) -> None:
    import av

    video = footage.streams.video[0]
    streams: list[Any] = [video, *footage.streams.audio[:1]]
    length = float(footage.duration or 0) / 1_000_000
    as_it_is = _plain(video)
    if as_it_is:
        picture: Any = out.add_stream_from_template(video)
    else:
        picture = out.add_stream("h264", options={"preset": "veryfast", "crf": "23"})
    sound: Any = out.add_stream("aac", rate=48_000, layout="stereo") if len(streams) > 1 else None
    resampler = av.AudioResampler(format="fltp", layout="stereo", rate=48_000)
    upright: Upright | None = None
    for packet in footage.demux(streams):
        if packet.stream.type == "video" and as_it_is:
            if packet.size:
                packet.stream = picture
                out.mux(packet)
            continue
        for frame in packet.decode():
            if isinstance(frame, av.VideoFrame):
                if upright is None:
                    upright = Upright(frame, most_lines=_MOST_LINES)
                    picture.width, picture.height = upright.width, upright.height
                    picture.pix_fmt = "yuv420p"
                    picture.codec_context.time_base = TIME_BASE
                at = (frame.pts or 0) * (frame.time_base or TIME_BASE)
                shown = upright(frame, at)
                shown.pict_type = 0
                out.mux(picture.encode(shown))
                if length:
                    tell(min(1.0, float(at) / length))
            elif isinstance(frame, av.AudioFrame):
                for piece in resampler.resample(frame):
                    out.mux(sound.encode(piece))
    if not as_it_is:
        out.mux(picture.encode(None))
    if sound:
        for piece in resampler.resample(None):
            out.mux(sound.encode(piece))
        out.mux(sound.encode(None))


def _plain(video: Any) -> bool:
    return video.codec_context.name in _VIDEO and video.codec_context.pix_fmt in _PIXELS


def _opened(path: Path) -> "InputContainer":
    import av
    from av.error import FFmpegError

    try:
        footage = av.open(str(path), metadata_errors="ignore")
    except (FFmpegError, OSError):
        raise BadRecording(f'The footage "{path.name}" is not where it was, or cannot be read') from None
    if not footage.streams.video:
        footage.close()
        raise BadRecording(f'"{path.name}" has no picture')
    return footage
