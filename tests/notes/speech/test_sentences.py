"""Where a window's words are parted into sentences."""

import pytest

from notes.model import Word
from notes.speech.hearing import _sentences
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
