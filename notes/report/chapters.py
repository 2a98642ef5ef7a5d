"""Captions and chapters of a whole review, on the footage's clock, for any player that reads WebVTT."""

from collections.abc import Iterable
from itertools import groupby, pairwise

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.media import Media
from notes.model import Segment
from notes.report.moments import SHORTEST_CAPTION_MS, title

# How long the last chapter lasts where nothing tells.
_LAST_MS = 10_000


def review_captions(media: Media, notes: Iterable[Kept]) -> list[Segment]:
    """What the coach said, when it is seen: live narration whole, of other talk the remarks whose moment is known."""
    if media.live:
        return list(media.segments)
    placed = sorted({(k.observation.footage_ms, k.observation.quote): k.observation for k in _placed(notes)}.items())
    captions = []
    for at, group in groupby((o for _, o in placed), key=lambda o: o.footage_ms or 0):
        said = list(group)
        lasts = sum(max(o.end_ms - o.start_ms, SHORTEST_CAPTION_MS) for o in said)
        captions.append(Segment(at, at + lasts, " ".join(o.quote for o in said)))
    return captions


def review_chapters(media: Media, notes: Iterable[Kept], lexicon: Lexicon) -> list[Segment]:
    """Chapters: the rounds, and in them the notes, each until the next.

    A note's chapter lies wholly in its round's, so that players can nest them (W3C WebVTT, "chapters text tracks").
    """
    moments = [
        (at, "; ".join(dict.fromkeys(title(k, lexicon) for k in group)))
        for at, group in groupby(_placed(notes), key=lambda k: k.observation.footage_ms or 0)
    ]
    if not moments:
        return []
    last = moments[-1][0]
    rounds = []
    if clock := media.rounds:
        count = next(n for n in range(1, 10_000) if clock.start(n) > last) - 1
        rounds = [(clock.start(n), clock.start(n) + clock.length_ms, f"Round {n}") for n in range(1, count + 1)]
    chapters = [Segment(*found) for found in rounds]
    edges = sorted(edge for start, end, _ in rounds for edge in (start, end))
    for (at, label), (following, _) in pairwise([*moments, (last + _LAST_MS, "")]):
        end = min([following, *(edge for edge in edges if edge > at)])
        chapters.append(Segment(at, end, label))
    return sorted(chapters, key=lambda c: (c.start_ms, -c.end_ms))


def _placed(notes: Iterable[Kept]) -> list[Kept]:
    known = (k for k in notes if k.observation.footage_ms is not None)
    return sorted(known, key=lambda k: k.observation.footage_ms or 0)
