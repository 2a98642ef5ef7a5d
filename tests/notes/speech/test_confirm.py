"""Terms that the sound confirms. The talk is invented; the sound is of tests/human_speech, with its sources."""

import pytest
from faster_whisper.transcribe import pad_or_trim
from human import CLIPS

from notes.model import Segment, Word
from notes.speech.asking import Asking
from notes.speech.audio import read_stretches
from notes.speech.confirm import confirmed, doubts, weighed
from notes.speech.models import load_model
from notes.speech.repair import Swap, undone
from notes.speech.terms import TradeWords

TRADE = TradeWords(("pummel", "shin", "body kick", "half guard", "clinch"))


def window(text: str) -> tuple[Word, ...]:
    """Words of a text; those that end in "?" are unsure ones, without that mark."""
    return tuple(
        Word(word.rstrip("?"), i * 300, i * 300 + 250, 0.5 if word.endswith("?") else 0.99)
        for i, word in enumerate(text.split())
    )


def text_of(words: tuple[Word, ...]) -> str:
    return " ".join(word.text for word in words)


@pytest.mark.parametrize(
    ("text", "doubted"),
    [
        ("collar tie, then tumble? it back in", ["pummel"]),
        ("collar tie, then tumble it back in", []),
        ("the body cake? where the leg goes", ["body kick"]),
        ("the body? kick and go", []),
        ("the shins? are sore", []),
        ("mind the shin's? bone", []),
    ],
)
def test_only_an_unsure_word_that_is_no_term_is_doubted(text: str, doubted: list[str]) -> None:
    assert [swap.said for swap in doubts(window(text), TRADE)][: len(doubted) or None] == doubted


def test_of_two_terms_in_one_place_the_likelier_is_taken_and_what_was_heard_is_kept() -> None:
    words = window("close the book, Gins,? breath, and again")
    likelihood = {"Shins,": -2.0, "Shin,": -3.0, "Gins,": -1.0}
    found = [Swap(3, 4, "shin"), Swap(3, 4, "shins")]

    done = weighed(words, found, lambda texts: [likelihood.get(text, 0.0) for text in texts])

    assert text_of(done) == "close the book, Shins, breath, and again"
    assert undone(Segment(0, 2000, text_of(done), done)).text == text_of(words)


def test_what_the_words_behind_it_speak_against_is_not_taken() -> None:
    """A term costs little itself, yet makes nonsense of what follows."""

    def read(texts: list[str]) -> list[float]:
        return [-5.0 if i == 1 and "pummel" in texts else 0.0 for i in range(len(texts))]

    assert text_of(weighed(window("tumble? it back"), [Swap(0, 1, "pummel")], read)) == "tumble it back"


@pytest.mark.parametrize(("written", "term"), [("gantry", "country"), ("country", "gantry")])
def test_human_speech_decides_between_two_words(written: str, term: str) -> None:
    """Source of what is said: tests/human_speech/references.yaml."""
    samples = next(read_stretches(CLIPS / "jfk.flac")).samples
    words = window(f"And so my fellow Americans, ask not what your {written}? can do for you, ask what you can do.")
    model = load_model("base")
    encoded = model.encode(pad_or_trim(model.feature_extractor(samples)))
    trade, asking = TradeWords((term,)), Asking(model)

    assert doubts(words, trade)[0].said == term
    said = confirmed(words, trade, lambda terms: asking.reader(encoded, f"Mind the {terms[0]}."))
    assert "what your country can do" in text_of(said)
