"""The critique as an athlete would read it."""

from datetime import date
from pathlib import Path

import pytest
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.errors import TapesideError
from notes.extract import read
from notes.report.caution import CAUTION
from notes.report.critique import MOST_PRIORITIES, make_critique, write_critique
from notes.speech.transcripts import transcript_json

DAY = date(2031, 3, 14)


def written(home: Path, out: Path, vocabulary: Lexicon, *said: str) -> str:
    facts, heard = sheet(), talk(*said)
    with Archive(home) as archive:
        reading = read(heard, facts, vocabulary, "one.vtt", "one")
        archive.add(reading, facts, DAY, None, transcript_json(heard), vocabulary)
        person = archive.athlete("Mara")
        write_critique(make_critique(person, archive.observations_of(person), [DAY]), vocabulary, out)
    return out.read_text()


FAULTS = ("You're leaning back.", "Your chin is in the air.", "You're crossing your feet.", "You're flat-footed.")


def test_at_most_three_priorities_the_most_frequent_first(home: Path, tmp_path: Path, vocabulary: Lexicon) -> None:
    said = [s for fault in FAULTS for s in (fault, "He circles.", "He jabs.")]

    text = written(home, tmp_path / "c.md", vocabulary, *said, "You're flat-footed again.")

    assert text.count("### ") == MOST_PRIORITIES
    assert "### 1. Flat footed" in text


def test_a_welfare_sign_stands_first_with_the_caution(home: Path, tmp_path: Path, vocabulary: Lexicon) -> None:
    text = written(home, tmp_path / "c.md", vocabulary, "You're leaning back.", "He circles.", "That one buzzed you.")

    assert text.index("buzzed") < text.index(CAUTION) < text.index("To work on")


def test_what_was_said_cannot_act_as_markup(home: Path, tmp_path: Path, vocabulary: Lexicon) -> None:
    text = written(home, tmp_path / "c.md", vocabulary, "You're leaning back <script>alert(1)</script> [x](y) *now*.")

    assert "<script" not in text and "[x](" not in text


def test_another_ending_is_refused(home: Path, tmp_path: Path, vocabulary: Lexicon) -> None:
    with pytest.raises(TapesideError, match="must end in"):
        written(home, tmp_path / "c.xyz", vocabulary, "You're leaning back.")
