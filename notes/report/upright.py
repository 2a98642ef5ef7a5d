"""A frame of the footage as it is meant to be seen: turned upright, even in size, with its caption."""

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from notes.model import Segment
from notes.report.film import TIME_BASE as _CLOCK

if TYPE_CHECKING:
    from av.filter import Graph
    from av.filter.context import FilterContext
    from av.video.frame import VideoFrame

# Degrees counter-clockwise of the display matrix, and the filters that undo them.
_TURNS = {90: ("transpose=cclock",), -90: ("transpose=clock",), 180: ("hflip", "vflip"), -180: ("hflip", "vflip")}


class Upright:
    """Turns frames like `model` into frames of `width` by `height`, yuv420p, at most `most_lines` high. Captions stand
    on the film's clock."""

    def __init__(self, model: "VideoFrame", captions: Sequence[Segment] = (), *, most_lines: int | None = None):
        self._turns = _TURNS.get(model.rotation, ())
        self.turned = bool(self._turns) and model.rotation % 180 != 0
        width, height = (model.height, model.width) if self.turned else (model.width, model.height)
        share = min(1.0, most_lines / height) if most_lines else 1.0
        self._small = share < 1
        self.width, self.height = (int(side * share) // 2 * 2 for side in (width, height))
        plain = not self._turns and not captions and (width, height) == (self.width, self.height)
        self._graph = None if plain and model.format.name == "yuv420p" else self._make_graph(model, captions)

    def __call__(self, frame: "VideoFrame", at: Fraction) -> "VideoFrame":
        """The frame as it is seen `at` seconds into the film."""
        frame.time_base, frame.pts = _CLOCK, round(at / _CLOCK)
        if self._graph is None:
            return frame
        self._source.push(frame)
        return cast("VideoFrame", self._sink.pull())

    def _make_graph(self, model: "VideoFrame", captions: Sequence[Segment]) -> "Graph":
        from av.filter import Graph

        graph = Graph()
        self._source = last = graph.add_buffer(
            width=model.width, height=model.height, format=model.format, time_base=_CLOCK
        )
        for name, _, options in (turn.partition("=") for turn in self._turns):
            last = _linked(last, graph.add(name, options))
        size = f"{self.width}:{self.height}"
        last = _linked(last, graph.add("scale", size) if self._small else graph.add("crop", f"{size}:0:0"))
        last = _linked(last, graph.add("format", "yuv420p"))
        stills = []
        for caption in captions:
            last, still = self._captioned(graph, last, caption)
            stills.append(still)
        self._sink = _linked(last, graph.add("buffersink"))
        graph.configure()
        for source, image in stills:
            source.push(image)
            source.push(None)
        return graph

    def _captioned(
        self, graph: "Graph", last: "FilterContext", caption: Segment
    ) -> tuple["FilterContext", tuple["FilterContext", "VideoFrame"]]:
        import av

        from notes.report.lettering import caption_image

        image = av.VideoFrame.from_ndarray(caption_image(caption.text, self.width, self.height), format="rgba")
        image.time_base, image.pts = _CLOCK, 0
        source = graph.add_buffer(width=image.width, height=image.height, format=image.format, time_base=_CLOCK)
        seen = f"between(t,{caption.start_ms / 1000},{caption.end_ms / 1000})"
        overlay = graph.add("overlay", f"x=(W-w)/2:y=H-h-H/24:eof_action=repeat:enable='{seen}'")
        last.link_to(overlay, 0, 0)
        source.link_to(overlay, 0, 1)
        return overlay, (source, image)


def _linked(before: "FilterContext", after: "FilterContext") -> "FilterContext":
    before.link_to(after)
    return after
