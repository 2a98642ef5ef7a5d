"""Cutting footage: exact to the frame by encoding anew, or fast by copying, from a keyframe on."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from errno import ENOSPC
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from notes.errors import BadRecording
from notes.model import Segment
from notes.report.film import Film, written
from notes.report.sound import RATE_HZ, Part, mixed
from notes.report.upright import Upright
from notes.times import clock

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.frame import VideoFrame

# Endings whose containers can be written; a fast cut of anything else goes into Matroska.
_COPIES_INTO = frozenset({".mp4", ".m4v", ".mov", ".mkv", ".webm"})

# Tried in turn. Cameras set a keyframe every second or two, encoders at least every ten seconds (from memory).
_SEEK_BACK_S = (0, 3, 12, 60, 86_400)

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Cut:
    """What to cut: `start_ms` to `end_ms` of the footage as a player counts, parts of sound, captions to burn in.

    Where a part lies and when a caption stands is told on the clip's own clock.
    """

    footage: Path
    start_ms: int
    end_ms: int
    sound: tuple[Part, ...] = ()
    captions: tuple[Segment, ...] = ()


@dataclass(frozen=True, slots=True)
class Shot:
    """A frame, when it is shown and for how long, in seconds of the footage."""

    frame: "VideoFrame"
    at: Fraction
    lasts: Fraction


def cut_exact(cut: Cut, out: Path, tags: dict[str, str], done: Progress) -> None:
    """Write the frames shown from `start_ms` up to `end_ms`, upright, each at its own time, the first at 0.

    Where the footage ends early, so does the clip. Calls `done` with the ms that were written since the last call.
    Raises BadRecording when the footage cannot be read, or has no picture in that stretch.
    """
    start, end = Fraction(cut.start_ms, 1000), Fraction(cut.end_ms, 1000)
    with written(out, tags) as target, opened(cut.footage) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        found = shots(container, start, end)
        shot = next(found, None)
        if shot is None:
            raise _no_picture(cut)
        first = shot.at
        sound = mixed(cut.sound, cut.end_ms - cut.start_ms)
        upright = Upright(shot.frame, cut.captions)
        film = Film(target, upright.width, upright.height, stream.average_rate or Fraction(25), sound=sound is not None)
        film.looks_like(stream, turned=upright.turned)
        told = 0
        shown_until = start
        for each in chain([shot], found):
            film.show(upright(each.frame, each.at - first), each.at - first, each.lasts)
            shown_until = each.at + each.lasts
            done((ms := round((each.at - first) * 1000)) - told)
            told = ms
        if sound is not None:
            last = round((min(shown_until, end) - start) * RATE_HZ)
            film.play(sound[:, round((first - start) * RATE_HZ) : last])
        film.finish()
        done(cut.end_ms - cut.start_ms - told)


def cut_fast(cut: Cut, out: Path, tags: dict[str, str], done: Progress) -> None:
    """Copy picture and sound as they are, from a keyframe at or before `start_ms` on: the last one, given an index.

    Raises as `cut_exact`.
    """
    with written(out, tags) as target, opened(cut.footage) as container:
        picture = container.streams.video[0]
        streams = [picture, *container.streams.audio[:1]]
        copies = {s.index: target.add_stream_from_template(s) for s in streams}
        zero = _zero(container)
        _seek(container, zero + Fraction(cut.start_ms, 1000))
        last = zero + Fraction(cut.end_ms, 1000)
        first: Fraction | None = None
        for packet in container.demux(streams):
            if packet.pts is None or packet.dts is None:
                continue
            is_picture = packet.stream_index == picture.index
            at = packet.pts * packet.time_base
            if first is None and is_picture and packet.is_keyframe:
                first = at
            if first is None or at < first:
                continue
            if packet.dts * packet.time_base >= last:
                if is_picture:
                    break
                continue
            shift = round(first / packet.time_base)
            packet.pts, packet.dts = packet.pts - shift, packet.dts - shift
            packet.stream = copies[packet.stream_index]
            target.mux(packet)
        if first is None:
            raise _no_picture(cut)
    done(cut.end_ms - cut.start_ms)


def fast_ending(footage: Path) -> str:
    """The ending of a copied clip: the footage's own, whose container surely holds its codecs."""
    ending = footage.suffix.lower()
    return ending if ending in _COPIES_INTO else ".mkv"


def shots(container: "InputContainer", start: Fraction, end: Fraction) -> Iterator[Shot]:
    """The frames shown from `start` up to `end` in seconds; players' time 0 is 0."""
    zero = _zero(container)
    stream = container.streams.video[0]
    usual = 1 / (stream.average_rate or Fraction(25))
    if start > 0:
        _seek(container, zero + start)
    for frame in container.decode(stream):
        if frame.pts is None or frame.time_base is None:
            continue
        at = frame.pts * frame.time_base - zero
        if at >= end:
            return
        if at >= start:
            yield Shot(frame, at, frame.duration * frame.time_base if frame.duration else usual)


def _seek(container: "InputContainer", to: Fraction) -> None:
    """Go to a keyframe at or before a time; without an index (MPEG-TS) a first try may land past it."""
    picture = container.streams.video[0]
    base = picture.time_base or Fraction(1)
    for back in _SEEK_BACK_S:
        target = int(max(to - back, _zero(container)) / base)
        container.seek(target, stream=picture)
        key = next((p for p in container.demux(picture) if p.is_keyframe and p.pts is not None), None)
        if key and (key.pts or 0) * base <= to:
            break
    container.seek(target, stream=picture)


def _zero(container: "InputContainer") -> Fraction:
    return Fraction(container.start_time or 0, 1_000_000)


@contextmanager
def opened(footage: Path) -> Iterator["InputContainer"]:
    """The footage, open. Raises BadRecording where it cannot be read, then or later, or has no picture."""
    import av
    from av.error import FFmpegError

    try:
        with av.open(str(footage), metadata_errors="ignore") as container:
            if not container.streams.video:
                raise BadRecording(f'"{footage}" has no picture; give the footage, not the narration')
            yield container
    except FFmpegError as error:
        if error.errno == ENOSPC:
            raise
        raise BadRecording(
            f'The footage "{footage}" cannot be read ({error.strerror}); play it to see whether it is whole, '
            "or copy it again"
        ) from None


def _no_picture(cut: Cut) -> BadRecording:
    at = clock(cut.start_ms)
    return BadRecording(f'The footage "{cut.footage}" ends before {at}, where a moment lies; is it the whole film?')
