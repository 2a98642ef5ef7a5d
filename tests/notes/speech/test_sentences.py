"""Where a window's words are parted into sentences."""

from types import SimpleNamespace

import pytest

from notes.model import Word
from notes.speech.hearing import _sentences, _whole
from notes.speech.repair import undone


def said(text: str) -> tuple[Word, ...]:
    return tuple(Word(word, 100 * i, 100 * i + 90) for i, word in enumerate(text.split()))


@pytest.mark.parametrize(
    ("written", "sentences"),
    [
        ("150. He lets go. Good.", ["150, He lets go.", "Good."]),
        ("3 -10. You lie there.", ["3 -10, You lie there."]),
        ("One two. Again.", ["One two.", "Again."]),
        ("1 2. Again.", ["1 2.", "Again."]),
        ("Round 3. Good.", ["Round 3.", "Good."]),
        ("And then 736.", ["And then 736."]),
        ("736.", ["736."]),
    ],
)
def test_a_clock_time_is_no_sentence(written: str, sentences: list[str]) -> None:
    parts = list(_sentences(said(written)))

    assert [part.text for part in parts] == sentences
    assert " ".join(undone(part).text for part in parts) == written


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
