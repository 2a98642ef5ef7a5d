"""The reel: clips one after the other, each behind a title card, with chapters that players show."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from notes.model import Segment
from notes.report.cutting import opened, shots
from notes.report.film import Film, written
from notes.report.lettering import card_image
from notes.report.sound import RATE_HZ, silence, sound_of
from notes.times import to_ms

if TYPE_CHECKING:
    from av.container import Chapter, InputContainer
    from av.filter import Graph
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

# Long enough to read a card (common practice, no source).
CARD_S = Fraction(3)

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Scene:
    """A clip that was cut, with its captions and what its card says: a title, a quiet line, the coach's words."""

    file: Path
    captions: tuple[Segment, ...]
    title: str
    under: str
    quote: str


def make_reel(scenes: Sequence[Scene], out: Path, tags: dict[str, str], done: Progress) -> list[Segment]:
    """Write the reel, in the size and frame rate of its first clip; its captions, on its own clock.

    Calls `done` with the ms that were written since the last call.
    """
    lengths = [_length(scene.file) for scene in scenes]
    captions: list[Segment] = []
    with opened(scenes[0].file) as first:
        stream = first.streams.video[0]
        width, height = _seen_size(first)
        rate = stream.average_rate or Fraction(25)
    with written(out, tags) as target:
        target.set_chapters(_chapters(scenes, lengths))
        film = Film(target, width, height, rate, sound=any(sounds for _, sounds in lengths))
        at = Fraction(0)
        for scene, (length, _) in zip(scenes, lengths, strict=True):
            _show_card(film, scene, (width, height), rate, at)
            at += CARD_S
            with opened(scene.file) as container:
                fit = _Fit(container, width, height)
                for shot in shots(container, Fraction(0), length):
                    film.show(fit(shot.frame), at + shot.at, shot.lasts)
            _play(film, scene.file, at + length)
            captions += [
                Segment(c.start_ms + to_ms(float(at)), c.end_ms + to_ms(float(at)), c.text) for c in scene.captions
            ]
            at += length
            done(to_ms(float(CARD_S + length)))
        film.finish()
    return captions


def _show_card(film: Film, scene: Scene, size: tuple[int, int], rate: Fraction, at: Fraction) -> None:
    import av

    card = av.VideoFrame.from_ndarray(card_image(scene.title, scene.under, scene.quote, *size), format="rgb24")
    for number in range(ceil(CARD_S * rate)):
        film.show(card.reformat(format="yuv420p"), at + number / rate, 1 / rate)
    film.play(silence(to_ms(float(CARD_S))))


def _play(film: Film, file: Path, until: Fraction) -> None:
    """A clip's sound, or silence, up to the very sample at which its picture ends."""
    wanted = round(until * RATE_HZ) - film.played
    length_ms = ceil(Fraction(wanted * 1000, RATE_HZ))
    heard = sound_of(file, 0, length_ms)
    film.play((silence(length_ms) if heard is None else heard)[:, :wanted])


def _length(file: Path) -> tuple[Fraction, bool]:
    """Length of a clip's picture in seconds, and whether it has sound."""
    with opened(file) as container:
        stream = container.streams.video[0]
        return Fraction(stream.duration or 0) * (stream.time_base or 1), bool(container.streams.audio)


def _chapters(scenes: Sequence[Scene], lengths: Sequence[tuple[Fraction, bool]]) -> list["Chapter"]:
    found: list[Chapter] = []
    at = 0
    for number, (scene, (length, _)) in enumerate(zip(scenes, lengths, strict=True), 1):
        end = at + to_ms(float(CARD_S + length))
        found.append(
            {
                "id": number,
                "start": at,
                "end": end,
                "time_base": Fraction(1, 1000),
                "metadata": {"title": scene.title},
            }
        )
        at = end
    return found


def _seen_size(container: "InputContainer") -> tuple[int, int]:
    """Width and height in square pixels, even."""
    stream = container.streams.video[0]
    width = round(stream.width * (stream.sample_aspect_ratio or 1))
    return width - width % 2, stream.height - stream.height % 2


class _Fit:
    """Brings the frames of one clip into the reel's size, with bars where the shape differs."""

    def __init__(self, container: "InputContainer", width: int, height: int):
        stream = container.streams.video[0]
        self._graph: Graph | None = None
        if (stream.width, stream.height) != (width, height):
            self._graph = self._make_graph(stream, width, height)

    def __call__(self, frame: "VideoFrame") -> "VideoFrame":
        if self._graph is None:
            return frame
        self._graph.vpush(frame)
        return self._graph.vpull()

    @staticmethod
    def _make_graph(stream: "VideoStream", width: int, height: int) -> "Graph":
        from av.filter import Graph

        graph = Graph()
        nodes = [
            graph.add_buffer(template=stream),
            graph.add("scale", "iw*if(sar,sar,1):ih"),
            graph.add("scale", f"{width}:{height}:force_original_aspect_ratio=decrease"),
            graph.add("pad", f"{width}:{height}:(ow-iw)/2:(oh-ih)/2"),
            graph.add("setsar", "1"),
            graph.add("format", "yuv420p"),
            graph.add("buffersink"),
        ]
        graph.link_nodes(*nodes).configure()
        return graph
