"""Writing a film: frames and sound in, an MP4 with H.264 and AAC out, whole or not at all."""

from collections.abc import Iterator
from contextlib import contextmanager
from errno import ENOSPC
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from notes.errors import TapesideError
from notes.report.sound import RATE_HZ, Samples, frames

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

# Quality and speed of x264: faults stay plain to see, and two cores keep up (common practice, no source).
X264 = {"preset": "veryfast", "crf": "21"}
AAC_BITS = 128_000
_MOVIES = frozenset({".mp4", ".m4v", ".mov"})
# Divides the frame times of all usual rates; the clock of MPEG transport streams (ISO/IEC 13818-1).
TIME_BASE = Fraction(1, 90_000)


@contextmanager
def written(out: Path, tags: dict[str, str]) -> Iterator["OutputContainer"]:
    """A container that becomes `out` when all went well; until then, and after a failure, `out` is as it was."""
    import av
    from av.error import FFmpegError

    part = out.with_name(f".{out.stem}.part{out.suffix}")
    try:
        # Without a bound on interleaving, sound may be handed over after the picture.
        options = {"max_interleave_delta": "0"}
        if out.suffix.lower() in _MOVIES:
            options["movflags"] = "+faststart"
        with av.open(str(part), "w", options=options) as target:
            target.metadata.update(tags)
            yield target
        part.replace(out)
    except FFmpegError as error:
        if error.errno == ENOSPC:
            raise
        raise TapesideError(f'Cannot write "{out}" ({error.strerror})') from None
    finally:
        part.unlink(missing_ok=True)


def tag(path: Path, name: str) -> str | None:
    """A tag of a film that is there already; None where there is no readable film."""
    import av
    from av.error import FFmpegError

    try:
        with av.open(str(path), metadata_errors="ignore") as container:
            return next((text for key, text in container.metadata.items() if key.lower() == name), None)
    except (FFmpegError, OSError):
        return None


class Film:
    """The two streams of a film. Times are seconds from its start; `played` counts the samples of its sound so far."""

    def __init__(self, target: "OutputContainer", width: int, height: int, rate: Fraction, *, sound: bool):
        self._target = target
        self.picture: VideoStream = target.add_stream("libx264", rate=rate, options=X264)
        self.picture.width, self.picture.height, self.picture.pix_fmt = width, height, "yuv420p"
        self.picture.time_base = self.picture.codec_context.time_base = TIME_BASE
        self._sound = target.add_stream("aac", rate=RATE_HZ, layout="stereo", bit_rate=AAC_BITS) if sound else None
        self.played = 0

    def looks_like(self, source: "VideoStream", *, turned: bool) -> None:
        """Take over how colours and the shape of pixels are meant; `turned` frames swap width and height."""
        if shape := source.sample_aspect_ratio:
            self.picture.codec_context.sample_aspect_ratio = 1 / shape if turned else shape
        ours, theirs = self.picture.codec_context, source.codec_context
        for name in ("color_range", "color_primaries", "color_trc", "colorspace"):
            setattr(ours, name, getattr(theirs, name))

    def show(self, frame: "VideoFrame", at: Fraction, lasts: Fraction) -> None:
        """Encode a frame, shown from `at` on for `lasts`."""
        frame.time_base, frame.pts, frame.duration = TIME_BASE, round(at / TIME_BASE), round(lasts / TIME_BASE)
        frame.pict_type = 0
        self._target.mux(self.picture.encode(frame))

    def play(self, samples: Samples) -> None:
        """Encode sound that follows what was played before."""
        if self._sound:
            for piece in frames(samples, RATE_HZ, self.played):
                self._target.mux(self._sound.encode(piece))
        self.played += samples.shape[1]

    def finish(self) -> None:
        """Write what the encoders still hold."""
        self._target.mux(self.picture.encode(None))
        if self._sound:
            self._target.mux(self._sound.encode(None))
