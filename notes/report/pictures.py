"""Pictures of the moments that a paper speaks of, taken from the footage where its file is still there."""

import tempfile
from collections.abc import Iterable
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import av
import av.error

from notes.archive.entries import Kept
from notes.report.critique import Critique
from notes.report.document import Picture
from notes.report.plots import plot_progress
from notes.times import clock

WIDTH = 640


def pictures_of(notes: Iterable[Kept]) -> dict[str, Picture]:
    """A picture for each note that has a footage time and whose footage can be read, by the note's id."""
    found = {}
    for kept in notes:
        o = kept.observation
        if o.footage_ms is None or kept.footage is None or not Path(kept.footage).is_file():
            continue
        if data := frame_at(Path(kept.footage), o.footage_ms):
            where = f"round {o.round}, {clock(o.footage_ms)}" if o.round else clock(o.footage_ms)
            found[o.id] = Picture(data, f"The moment on the footage: {where}")
    return found


def plot_of(critique: Critique) -> Picture | None:
    """The progress of the faults that a critique speaks of, as vectors; None where no fault can be compared."""
    told = {point.key for point in critique.points} | {gone.key for gone in critique.improved}
    faults = tuple(f for f in critique.progress.faults if f.fault in told)
    if not critique.progress.tested or not faults:
        return None
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "progress.svg"
        plot_progress("Progress", replace(critique.progress, faults=faults), out)
        return Picture(out.read_bytes(), f"Notes for each {critique.watched.unit} watched, session by session", "svg")


def frame_at(footage: Path, at_ms: int) -> bytes | None:
    """The frame shown at a time of the video, as JPEG at most `WIDTH` pixels wide; None where there is none."""
    try:
        with av.open(str(footage)) as container:
            stream = next(iter(container.streams.video), None)
            if stream is None or stream.time_base is None:
                return None
            start = stream.start_time or 0
            container.seek(start + int(at_ms / 1000 / stream.time_base), stream=stream)
            shown = None
            for frame in container.decode(stream):
                if shown is not None and (frame.time or 0.0) - float(start * stream.time_base) > at_ms / 1000:
                    break
                shown = frame
    except (av.error.FFmpegError, OSError):
        return None
    return _jpeg(shown) if shown else None


def _jpeg(frame: av.VideoFrame) -> bytes:
    picture = frame.to_image()  # type: ignore[no-untyped-call]
    picture.thumbnail((WIDTH, WIDTH))
    out = BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()
