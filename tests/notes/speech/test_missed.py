"""Gaps between words in which somebody may have spoken. Sound is made; what is heard again is human speech."""

import jiwer
import numpy as np
import pytest
from human import CLIPS, TEXTS, plain

from notes.model import Word
from notes.speech.audio import RATE_HZ, Stretch, read_stretches
from notes.speech.hearing import Hearing
from notes.speech.missed import believed, unheard
from notes.speech.models import load_model
from notes.speech.terms import TradeWords


def sound(*parts: tuple[float, float]) -> np.ndarray:
    """Noise of so many seconds, each part so loud."""
    rng = np.random.default_rng(1)
    return np.concatenate([rng.normal(0, loud, int(seconds * RATE_HZ)) for seconds, loud in parts]).astype(np.float32)


TALK = [Word("one", 0, 1_000, 0.9), Word("two", 4_000, 5_000, 0.9)]


@pytest.mark.parametrize(("loud", "found"), [(0.1, [(1.1, 3.9)]), (0.01, []), (0.04, [])])
def test_a_gap_is_missed_where_it_is_as_loud_as_the_words(loud: float, found: list[tuple[float, float]]) -> None:
    assert list(unheard(TALK, sound((1, 0.1), (3, loud), (1, 0.1)))) == found


def test_the_end_may_be_missed_and_long_noise_is_no_talk() -> None:
    assert list(unheard(TALK[:1], sound((4, 0.1)))) == [(1.1, 3.9)]
    assert list(unheard(TALK[:1], sound((40, 0.1)))) == []


def test_without_words_that_are_speech_nothing_is_missed() -> None:
    unsure = [Word(word.text, word.start_ms, word.end_ms, 0.3) for word in TALK]

    assert list(unheard([], sound((5, 0.1)))) == []
    assert list(unheard(unsure, sound((5, 0.1)))) == []


@pytest.mark.parametrize(
    ("text", "probability", "said"),
    [
        ("Good feint, and he bites.", 0.7, True),
        ("Thank you.", 0.54, False),
        ("Nice, nice, nice, nice, nice.", 0.66, False),
    ],
)
def test_what_noise_gives_is_not_believed(text: str, probability: float, said: bool) -> None:
    """The last two: noise and a crowd as loud as the talk, as the packaged model wrote them."""
    assert believed(tuple(Word(word, 0, 100, probability) for word in text.split())) == said


def test_speech_that_voice_detection_lets_go_is_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    """Source of what is said: tests/human_speech/references.yaml. The detection is made deaf in the middle of it."""
    from faster_whisper import transcribe

    samples = next(read_stretches(CLIPS / "jfk.flac")).samples
    spans = [{"start": 0, "end": 2 * RATE_HZ}, {"start": 8 * RATE_HZ, "end": len(samples)}]
    monkeypatch.setattr(transcribe, "get_speech_timestamps", lambda *_, **__: [dict(span) for span in spans])
    heard = Hearing(load_model("base"), TradeWords(())).hear(Stretch(samples, 0))

    said, found = plain(TEXTS["jfk.flac"]), plain(" ".join(s.text for s in heard))
    assert "ask not what your country" in found
    assert jiwer.wer(said, found) <= 0.1, "but for the two words where it was cut, one of them twice"
