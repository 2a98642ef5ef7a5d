"""From planned clips to files: what sounds in each, its captions, its mark, and whether it is there already."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lexicon import Lexicon
from notes.model import Segment, Transcript
from notes.report.cutting import Cut, cut_exact, cut_fast, fast_ending
from notes.report.film import tag
from notes.report.moments import Clip, captions, talk_of, title
from notes.report.reel import Scene, make_reel
from notes.report.sound import Part
from notes.speech.transcripts import write_transcript
from notes.times import clock

Sound = Literal["narration", "footage", "both"]
Progress = Callable[[int], None]

# Part of every clip's mark: change it when clips are made otherwise, and they are cut anew.
_FORM = "tapeside clip 1"


@dataclass(frozen=True, slots=True)
class Manner:
    """How clips are cut. `narrations`: where the coach's voice is, by SHA-256 of the recording."""

    sound: Sound
    narrations: Mapping[str, Path]
    burn: bool
    fast: bool


def clip_file(clip: Clip, footage: Path, manner: Manner, folder: Path) -> Path:
    """Where a clip goes."""
    return folder / f"{clip.stem}{fast_ending(footage) if manner.fast else '.mp4'}"


def write_clip(clip: Clip, footage: Path, manner: Manner, lexicon: Lexicon, out: Path, done: Progress) -> bool:
    """Cut a clip, with its captions burnt in or in a WebVTT file beside it; False where the very clip was there.

    The mark in its `comment` tag tells it from one that was cut otherwise. Raises BadRecording and TapesideError.
    """
    shown = tuple(captions(clip, lexicon))
    cut = Cut(footage, clip.start_ms, clip.end_ms, _sound(clip, footage, manner), shown if manner.burn else ())
    mark = _mark(cut, footage, manner)
    if manner.burn:
        out.with_suffix(".vtt").unlink(missing_ok=True)
    else:
        write_captions(shown, out.with_suffix(".vtt"))
    if tag(out, "comment") == mark:
        done(clip.end_ms - clip.start_ms)
        return False
    tags = {"title": f"{clip.athlete}: {title(clip.notes[0], lexicon)}", "comment": mark}
    (cut_fast if manner.fast else cut_exact)(cut, out, tags, done)
    return True


def write_reel(
    clips: list[Clip], files: list[Path], manner: Manner, lexicon: Lexicon, out: Path, done: Progress
) -> None:
    """Put the clips that were cut one after the other, with title cards; captions beside unless burnt in."""
    scenes = [_scene(clip, file, lexicon) for clip, file in zip(clips, files, strict=True)]
    shown = make_reel(scenes, out, {"title": f"{clips[0].athlete}: moments"}, done)
    if not manner.burn:
        write_captions(shown, out.with_suffix(".vtt"))


def write_captions(shown: list[Segment] | tuple[Segment, ...], out: Path) -> None:
    """Captions or chapters as WebVTT. Raises TapesideError where the file cannot be written."""
    write_transcript(Transcript(tuple(shown), model="notes"), out)


def _sound(clip: Clip, footage: Path, manner: Manner) -> tuple[Part, ...]:
    narration = manner.narrations.get(clip.media.sha256) if manner.sound != "footage" else None
    if narration is None or narration == footage:
        return (Part(footage, clip.start_ms, clip.end_ms, 0, voice=False),)
    talk = tuple(Part(narration, t.start_ms, t.end_ms, t.at_ms, voice=True) for t in talk_of(clip))
    if manner.sound == "narration":
        return talk
    return (*talk, Part(footage, clip.start_ms, clip.end_ms, 0, voice=False))


def _mark(cut: Cut, footage: Path, manner: Manner) -> str:
    state = footage.stat()
    made_of = repr((_FORM, cut, manner.fast, state.st_size, state.st_mtime_ns))
    return f"{_FORM} {hashlib.sha256(made_of.encode()).hexdigest()[:16]}"


def _scene(clip: Clip, file: Path, lexicon: Lexicon) -> Scene:
    first = clip.notes[0].observation
    subjects = list(dict.fromkeys(title(kept, lexicon) for kept in clip.notes))
    of_round = [f"Round {first.round}"] if first.round else []
    under = " · ".join([clip.athlete, clip.day.isoformat(), *of_round, clock(first.footage_ms or 0)])
    return Scene(file, tuple(captions(clip, lexicon)), ", ".join(subjects), under, f"“{first.quote}”")
