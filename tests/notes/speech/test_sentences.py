"""Where running words are parted into sentences."""

from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes.model import Word
from notes.speech.ends import ends_by_sound, with_ends
from notes.speech.hearing import _whole


def said(text: str, pause_ms: int = 400) -> list[Word]:
    """Words without a pause between them but after a mark, or where "|" stands."""
    words, start = [], 0
    for piece in text.split():
        word = piece.rstrip("|")
        words.append(Word(word, start, start + 200, 0.9))
        start += 200 + (pause_ms if piece[-1] in ".?!,|" else 10)
    return words


def as_marked(words: list[Word]) -> list[float | None]:
    """What the sound says, where it bears out every mark a little."""
    return [4.0 if word.text[-1] in ".?!" else -4.0 if word.text[-1] == "," else None for word in words]


def sentences(text: str, pause_ms: int = 400) -> list[str]:
    words = said(text, pause_ms)
    parts = with_ends(words, as_marked(words), ("Mara", "Devon"))
    return [" ".join(word.text for word in part) for part in parts]


@pytest.mark.parametrize(
    ("written", "parted"),
    [
        ("150. He lets go of the leg.", ["150, he lets go of the leg."]),
        ("And at 2 -10, Mara. You lie there.", ["And at 2 -10, Mara, you lie there."]),
        ("Your hands are low again. Good jab from Mara.", ["Your hands are low again.", "Good jab from Mara."]),
        ("Two minutes left on the clock.", ["Two minutes left on the clock."]),
        ("Mr. Hollis is timing it.", ["Mr. Hollis is timing it."]),
        ("Was that low? Not at all.", ["Was that low?", "Not at all."]),
    ],
)
def test_words_are_parted_where_coaches_end(written: str, parted: list[str]) -> None:
    assert sentences(written) == parted


def test_a_long_pause_ends_what_a_short_one_does_not() -> None:
    written = "you drop the right hand, he throws over it"

    assert len(sentences(written, 150)) == 1
    assert sentences(written, 1_200) == ["You drop the right hand.", "He throws over it."]


@pytest.mark.parametrize(("gain", "count"), [(-9.0, 1), (9.0, 2)])
def test_the_sound_may_overrule_the_mark(gain: float, count: int) -> None:
    words = said("You drop the right hand. He throws over it.", 150)

    assert len(with_ends(words, [gain if word.text == "hand." else None for word in words], ())) == count


def test_the_sound_is_asked_with_and_without_each_end() -> None:
    """The recogniser that is asked here finds a full stop behind "hand" likely, and one behind "low" unlikely."""
    asked = []

    def read(texts: list[str]) -> list[float]:
        asked.append(" ".join(texts))
        return [-1.0 if text in ("hand,", "low.", "Again.") else 0.0 for text in texts]

    words = tuple(said("You drop the hand. He comes low, again, you see."))

    assert ends_by_sound(words, (), read) == [None, None, None, 1.0, None, None, -1.0, 0.0, None, None]
    assert asked == [
        "You drop the hand. He comes low, again, you see.",
        "You drop the hand, he comes low, again. You see.",
        "You drop the hand. He comes low. Again, you see.",
    ]


def test_names_and_i_keep_their_capitals_inside() -> None:
    assert sentences("At 40 seconds. I see it, Mara. Devon moves.", 60) == [
        "At 40 seconds, I see it, Mara, Devon moves."
    ]


@given(
    st.lists(st.sampled_from("And you, Mara. drop? it 150. I then, go! hands".split()), max_size=40),
    st.integers(0, 1500),
)
def test_nothing_but_marks_and_capitals_changes(pieces: list[str], pause_ms: int) -> None:
    words = said(" ".join(pieces), pause_ms)
    parted = [word for part in with_ends(words, as_marked(words), ("Mara",)) for word in part]

    def bare(told: list[Word]) -> list[tuple[str, int, int]]:
        return [(word.text.lower().strip(".,?!"), word.start_ms, word.end_ms) for word in told]

    assert bare(parted) == bare(words)


def test_what_the_recogniser_parts_without_a_space_is_one_word() -> None:
    parts = [
        (" d", 0.0, 0.1, 0.9),
        ("'arce", 0.1, 0.4, 0.3),
        (" at", 0.5, 0.6, 0.8),
        (" 3", 0.6, 0.7, 0.9),
        ("-10.", 0.7, 1, 0.7),
    ]
    words = list(_whole(SimpleNamespace(word=w, start=a, end=b, probability=p) for w, a, b, p in parts))

    assert words == [Word("d'arce", 0, 400, 0.3), Word("at", 500, 600, 0.8), Word("3-10.", 600, 1000, 0.7)]


def test_a_silence_ends_any_sentence() -> None:
    words = said("so you stand on the| left")
    late = [*words[:-1], Word("left", 60_000, 60_200, 0.9)]

    assert [len(part) for part in with_ends(late, [None] * 6, ())] == [5, 1]
