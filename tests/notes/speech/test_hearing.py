"""Human speech, heard by the packaged models. Sources, licences and texts: tests/human_speech/."""

from pathlib import Path

import jiwer
import numpy as np
import pytest
from human import ALIGNED, CLIPS, TEXTS, plain, word_starts

from notes.speech.audio import read_stretches
from notes.speech.hearing import Hearing
from notes.speech.models import load_model
from notes.speech.terms import TradeWords
from notes.speech.transcribe import transcribe


def heard(path: Path, model: str = "base") -> str:
    segments = transcribe(path, model, TradeWords(("teep", "whizzer"), ("Mara",)), lambda ms: None).segments
    return plain(" ".join(s.text for s in segments))


@pytest.mark.parametrize(("model", "most"), [("base", 0.06), ("tiny.en", 0.09)])
def test_word_error_rate_on_human_speech(model: str, most: float) -> None:
    """Measured .029 (base) and .049 (tiny.en) on these 102 words, pooled; the margin is three words."""
    said = list(TEXTS.values())

    assert jiwer.wer(said, [heard(CLIPS / name, model) for name in TEXTS]) <= most


def test_word_times_agree_with_a_forced_aligner() -> None:
    """Aligner independent of Whisper; onsets measured .06 s off in the median, .33 s at most."""
    off = []
    for name in ALIGNED:
        starts = word_starts(name)
        true, spoken = dict(starts), [word for word, _ in starts]
        words = transcribe(CLIPS / name, "base", TradeWords(()), lambda ms: None).segments
        off += [
            abs(word.start_ms / 1000 - true[plain(word.text)])
            for segment in words
            for word in segment.words
            if plain(word.text) in true and spoken.count(plain(word.text)) == 1
        ]

    assert len(off) > 40
    assert np.median(off) <= 0.15


def test_a_stretch_is_heard_alike_whatever_was_heard_before() -> None:
    """So an interrupted run gives what an uninterrupted one does."""
    one, other = (next(read_stretches(CLIPS / name)) for name in ("jfk.flac", "librivox-0870.wav"))
    hearing = Hearing(load_model("tiny.en"), TradeWords(("teep",)))
    hearing.hear(other)

    assert hearing.hear(one) == Hearing(load_model("tiny.en"), TradeWords(("teep",))).hear(one)
