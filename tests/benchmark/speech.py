"""How well the trade's words are heard: `make bench-speech`, or this file with halves or names of recordings.

The baseline beside every figure is faster-whisper as it comes (one `WhisperModel.transcribe`, English, beam 5), same
model and threads. Voices and noise are synthetic; see speech_material.yaml and speech_sound.py. The processor's time
is compared, not the clock's, so that other work on the machine does not matter. What was heard is kept in
build/speech until the code or the vocabulary changes, so that an interrupted run goes on.
"""

import hashlib
import json
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import jiwer
import yaml
from evaluate import as_mark
from speech_score import Tally, plain_words, tally
from speech_sound import MATERIAL, Recording, Sound, by_telephone, in_gym, recordings, silent_traps, spoken

import lexicon
from notes.model import Segment, Transcript
from notes.reading.observations import read_review
from notes.reading.second.reader import SecondReader, second_reader
from notes.scoring import Mark, Score, score
from notes.speech.audio import RATE_HZ, Stretch, read_stretches
from notes.speech.guards import guarded
from notes.speech.hearing import Hearing
from notes.speech.models import DEFAULT, load_model
from notes.speech.terms import trade_words
from notes.speech.transcripts import parse_transcript, transcript_json

Hear = Callable[[Sound, Recording], list[Segment]]
KEPT = Path("build/speech")
HUMAN = Path(__file__).parents[1] / "human_speech"
CHANGES: dict[str, Callable[[Sound], Sound]] = {"gym": in_gym, "telephone": by_telephone}
SHOWN_MISSES = 20
_ROOT = Path(__file__).parents[2]
_SOURCES = sorted([*_ROOT.glob("notes/speech/*.py"), *_ROOT.glob("lexicon/data/*.yaml")])
CODE = hashlib.sha256(b"".join(path.read_bytes() for path in _SOURCES)).hexdigest()[:8]


def main() -> None:
    """Print the table, the traps, what hearing costs the log, and the worst misses."""
    voices = Path(sys.argv[1])
    wanted = set(sys.argv[2:])
    vocabulary = lexicon.load()
    model = load_model(DEFAULT)

    def ours(sound: Sound, recording: Recording) -> list[Segment]:
        hearing = Hearing(model, trade_words(recording.sheet, vocabulary))
        return guarded(hearing.hear(Stretch(sound, 0)), hearing.prose)[0]

    def plain(sound: Sound, _: Recording) -> list[Segment]:
        found, _info = model.transcribe(sound, language="en", beam_size=5, word_timestamps=True)
        return [Segment(round(s.start * 1000), round(s.end * 1000), s.text.strip()) for s in found]

    systems = {"plain": plain, "ours": ours}
    everything = [r for r in recordings() if not wanted or wanted & {r.half, r.name}]
    missed: list[tuple[str, str, str]] = []
    heard: dict[tuple[str, str, str], Transcript] = {}
    for half in ("development", "held-back"):
        rows: dict[tuple[str, str], Tally] = defaultdict(Tally)
        for recording in (r for r in everything if r.half == half):
            for condition in recording.conditions:
                sound, true = condition_of(recording, condition, voices)
                for name, hear in systems.items():
                    text, spent = kept(name, condition, hear, sound, recording)
                    counted, wrong = counted_in(text, spent, sound, recording)
                    rows[condition, name].add(counted)
                    heard[recording.name, condition, name] = text
                    print(
                        f"  {recording.name}, {condition}, {name}: WER {counted.wer:.3f}, terms {counted.kept} of "
                        f"{counted.terms}, {counted.invented} false, ends {counted.end_f1:.3f}, {spent:.0f} s",
                        flush=True,
                    )
                    if name == "ours" and half == "development":
                        missed += [(f"{recording.name}, {condition}", a, b) for a, b in wrong]
                if recording.gold:
                    heard[recording.name, condition, "true"] = true
        if rows:
            print_table(half, rows)
        reviews = [r for r in everything if r.half == half and r.gold]
        if reviews:
            print_reading(reviews, heard, vocabulary)
    if not wanted or "ordinary" in wanted:
        print_traps(systems, [r for r in everything if r.half == "ordinary"], voices)
        print_human(systems)
    print(f"terms lost or invented on the development half, the first {SHOWN_MISSES} of {len(missed)} (said > heard):")
    for where, said, wrote in missed[:SHOWN_MISSES]:
        print(f"  {where}: {said} > {wrote}")


def _unchanged(sound: Sound) -> Sound:
    return sound


def condition_of(recording: Recording, condition: str, voices: Path) -> tuple[Sound, Transcript]:
    """The sound of a recording under a condition, and what is truly said in it and when."""
    speed = MATERIAL["fast"] if condition == "fast" else recording.speed
    sound, true = spoken(recording, speed, voices, KEPT)
    return CHANGES.get(condition, _unchanged)(sound), true


def kept(name: str, condition: str, hear: Hear, sound: Sound, recording: Recording) -> tuple[Transcript, float]:
    """What was heard, and the processor's seconds that it took: from an earlier run where nothing changed since."""
    file = KEPT / "heard" / f"{recording.name}-{condition}-{CODE if name == 'ours' else name}.json"
    if not file.is_file():
        start = time.process_time()
        segments = tuple(hear(sound, recording))
        spent = time.process_time() - start
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps([spent, transcript_json(Transcript(segments, model=name))]), encoding="utf-8")
    spent, data = json.loads(file.read_text(encoding="utf-8"))
    return parse_transcript(data, str(file)), spent


def counted_in(
    text: Transcript, spent: float, sound: Sound, recording: Recording
) -> tuple[Tally, list[tuple[str, str]]]:
    """The counts of what was heard, and the terms that went wrong."""
    counted, wrong = tally(" ".join(recording.lines), " ".join(s.text for s in text.segments))
    counted.sound_s, counted.spent_s = len(sound) / RATE_HZ, spent
    return counted, wrong


def print_table(half: str, rows: dict[tuple[str, str], Tally]) -> None:
    """One row for each condition and system, and the ratio of their times."""
    minutes = sum(t.sound_s for (c, name), t in rows.items() if name == "ours" and c in ("clean",)) / 60
    print(f"{half}: {minutes:.1f} minutes of narration, said clean")
    print(f"{'':<20}{'words':>7}{'WER':>8}{'terms':>7}{'recall':>8}{'false/1000':>12}{'ends F1':>9}{'time ratio':>12}")
    for (condition, name), t in rows.items():
        ratio = t.spent_s / rows[condition, "plain"].spent_s
        print(
            f"{condition + ' ' + name:<20}{t.words:>7}{t.wer:>8.3f}{t.terms:>7}{t.recall:>8.3f}"
            f"{t.false_per_1000:>12.1f}{t.end_f1:>9.3f}{ratio:>12.2f}"
        )


def print_reading(
    reviews: list[Recording], heard: dict[tuple[str, str, str], Transcript], vocabulary: lexicon.Lexicon
) -> None:
    """Observations read from what was heard and from the true text, against the gold."""
    second = second_reader(vocabulary)
    totals: dict[tuple[str, str], Score] = defaultdict(Score)
    for recording in reviews:
        for condition in recording.conditions:
            true = heard[recording.name, condition, "true"]
            for name in ("true", "plain", "ours"):
                result = scored(recording, heard[recording.name, condition, name], true, vocabulary, second)
                totals[condition, name].add(result)
    print("observations against the gold of those reviews (F1; lost to hearing):")
    for (condition, name), total in totals.items():
        lost = totals[condition, "true"].f1 - total.f1
        print(f"{condition + ' ' + name:<20}{total.f1:>8.3f}{lost:>+8.3f}   strict {total.strict_f1:.3f}")


def scored(
    recording: Recording,
    text: Transcript,
    true: Transcript,
    vocabulary: lexicon.Lexicon,
    second: SecondReader | None,
) -> Score:
    """The score of a text of a review whose gold times are carried over to when the lines were said."""
    gold = recording.gold
    assert gold, "only reviews are read"
    found = read_review(text, gold.sheet, vocabulary, second).observations
    marks = [moved(mark, gold.transcript, true) for mark in gold.marks]
    return score([as_mark(o) for o in found if o.role == "athlete"], marks, gold.sentences)


def moved(mark: Mark, written: Transcript, said: Transcript) -> Mark:
    """A mark on the written cues, at the times when those cues were said."""

    def when(ms: int) -> int:
        cue = max((i for i, c in enumerate(written.segments) if c.start_ms <= ms), default=0)
        old, new = written.segments[cue], said.segments[cue]
        share = min(1.0, (ms - old.start_ms) / max(1, old.end_ms - old.start_ms))
        return round(new.start_ms + share * (new.end_ms - new.start_ms))

    return replace(mark, start_ms=when(mark.start_ms), end_ms=when(mark.end_ms))


def print_traps(systems: Mapping[str, Hear], ordinary: list[Recording], voices: Path) -> None:
    """Words where nobody speaks, and changes to ordinary talk."""
    for kind, sound in silent_traps().items():
        counts = {
            name: sum(len(plain_words(s.text)) for s in hear(sound, ordinary[0])) for name, hear in systems.items()
        }
        print(f"words on {kind}: " + ", ".join(f"{name} {count}" for name, count in counts.items()))
    for recording in ordinary:
        sound, _ = condition_of(recording, "clean", voices)
        for name, hear in systems.items():
            text, spent = kept(name, "clean", hear, sound, recording)
            counted, _ = counted_in(text, spent, sound, recording)
            changed = sum(w.heard is not None for s in text.segments for w in s.words)
            print(
                f"{recording.name}, {name}: WER {counted.wer:.3f}, terms invented {counted.invented}, changed {changed}"
            )


def print_human(systems: Mapping[str, Hear]) -> None:
    """Word error rate on human speech, clips pooled."""
    texts: dict[str, str] = yaml.safe_load((HUMAN / "references.yaml").read_text(encoding="utf-8"))
    blank = replace(recordings()[0], sheet=None)
    for name, hear in systems.items():
        found = [
            " ".join(
                plain_words(
                    " ".join(s.text for part in read_stretches(HUMAN / clip) for s in hear(part.samples, blank))
                )
            )
            for clip in texts
        ]
        print(f"human speech, {name}: WER {jiwer.wer([' '.join(plain_words(t)) for t in texts.values()], found):.3f}")


if __name__ == "__main__":
    main()
