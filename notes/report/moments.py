"""Which clips to cut: moments of the log widened, those that overlap made one, each with a file name of its own."""

import unicodedata
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.media import Media
from notes.model import UNLISTED, Segment
from notes.times import clock

# A caption stands at least so long, however short the remark was.
SHORTEST_CAPTION_MS = 3_000
# Word times are early or late by up to .33 s (measured: largest of 69 words of human speech).
_WORD_MS = 350
# Bytes of a name that go into a file name; file systems allow 255 for the whole.
_NAME_BYTES = 80


@dataclass(frozen=True, slots=True)
class Clip:
    """A stretch of footage, `start_ms` to `end_ms` on its clock, with the notes whose moments lie in it."""

    athlete: str
    day: date
    media: Media
    start_ms: int
    end_ms: int
    notes: tuple[Kept, ...]
    stem: str = ""


def plan_clips(
    notes: Iterable[Kept], media: Mapping[str, Media], before_ms: int, after_ms: int, heard: Container[str] = ()
) -> list[Clip]:
    """Clips for the notes whose footage time is known, oldest first.

    Moments of one athlete in one recording are joined where their stretches touch. `heard` names the recordings (by
    SHA-256) whose narration sounds in their clips, which then last until the remark is over. The start of the footage
    is respected here, its end by whoever cuts.
    """
    placed = sorted(
        (kept for kept in notes if kept.observation.footage_ms is not None),
        key=lambda k: (k.day, k.recording_sha256, k.observation.athlete, k.observation.footage_ms),
    )
    clips: list[Clip] = []
    for kept in placed:
        o = kept.observation
        at = o.footage_ms or 0
        of = media[kept.recording_sha256]
        start, end = max(0, at - before_ms), at + after_ms
        if of.live and of.sha256 in heard:
            end = max(end, at + o.end_ms - o.start_ms + _WORD_MS)
        last = clips[-1] if clips else None
        if last and last.media.sha256 == of.sha256 and last.athlete == o.athlete and start <= last.end_ms:
            clips[-1] = replace(last, end_ms=max(last.end_ms, end), notes=(*last.notes, kept))
        else:
            clips.append(Clip(o.athlete, kept.day, of, start, end, (kept,)))
    return _named([_told_out(clip) if clip.media.sha256 in heard else clip for clip in clips])


@dataclass(frozen=True, slots=True)
class Talk:
    """A stretch of the narration, ms of its recording, and where in the clip it is heard."""

    start_ms: int
    end_ms: int
    at_ms: int


def talk_of(clip: Clip) -> list[Talk]:
    """What of the narration belongs to a clip.

    Live narration runs along. Remarks of a memo begin at the moments they speak of, one after the other.
    """
    if clip.media.live:
        return [Talk(clip.start_ms, clip.end_ms, 0)]
    talks: list[Talk] = []
    for kept in clip.notes:
        o = kept.observation
        start, end = max(0, o.start_ms - _WORD_MS), o.end_ms + _WORD_MS
        last = talks[-1] if talks else None
        if last and last.start_ms <= start <= last.end_ms:
            talks[-1] = replace(last, end_ms=max(last.end_ms, end))
            continue
        free = last.at_ms + last.end_ms - last.start_ms if last else 0
        talks.append(Talk(start, end, max(free, (o.footage_ms or 0) - clip.start_ms)))
    return talks


def _told_out(clip: Clip) -> Clip:
    last = talk_of(clip)[-1]
    return replace(clip, end_ms=max(clip.end_ms, clip.start_ms + last.at_ms + last.end_ms - last.start_ms))


def captions(clip: Clip, lexicon: Lexicon) -> list[Segment]:
    """What each note of a clip says, on the clip's own clock: the fault's name and the coach's words."""
    ends = [(k.observation.footage_ms or 0) - clip.start_ms for k in clip.notes[1:]] + [clip.end_ms - clip.start_ms]
    shown = []
    for kept, latest in zip(clip.notes, ends, strict=True):
        o = kept.observation
        start = (o.footage_ms or 0) - clip.start_ms
        end = min(start + max(o.end_ms - o.start_ms, SHORTEST_CAPTION_MS), max(latest, start + 1))
        shown.append(Segment(start, end, f"{title(kept, lexicon)}: “{o.quote}”"))
    return shown


def title(kept: Kept, lexicon: Lexicon) -> str:
    """What a note is about, for people: the fault's or technique's name, else the kind."""
    entry = lexicon.entries.get(_subject(kept))
    label = entry.label if entry else kept.observation.kind
    return label[:1].upper() + label[1:]


def _subject(kept: Kept) -> str:
    """The id a note is named by: its fault, else its technique, else its kind."""
    o = kept.observation
    return next((term for term in (*o.faults, *o.techniques) if term != UNLISTED), o.kind)


def _named(clips: list[Clip]) -> list[Clip]:
    """Each clip with a file stem `athlete-fault-round-day-time`; a note's id sets apart those that are still alike."""
    taken: set[str] = set()
    named = []
    for clip in clips:
        first = clip.notes[0].observation
        parts = clock(first.footage_ms or 0).split(":")
        at = "".join(part + unit for part, unit in zip(parts, "hms"[-len(parts) :], strict=True))
        of_round = [f"r{first.round}"] if first.round else []
        stem = "-".join([safe(clip.athlete), safe(_subject(clip.notes[0])), *of_round, clip.day.isoformat(), at])
        if stem in taken:
            stem += f"-{first.id}"
        taken.add(stem)
        named.append(replace(clip, stem=stem))
    return named


def safe(name: str) -> str:
    """A name as part of a file name on any system: letters, marks and digits of any script, the rest as hyphens.

    >>> safe("Zoë O'Neill / №1"), safe("Ольга"), safe("…")
    ('zoë-o-neill-no1', 'ольга', 'athlete')
    """
    letters = unicodedata.normalize("NFKC", name).casefold()
    kept = "".join(c if unicodedata.category(c)[0] in "LMN" else "-" for c in letters)
    words = "-".join(part for part in kept.split("-") if part)
    return words.encode()[:_NAME_BYTES].decode(errors="ignore").strip("-") or "athlete"
