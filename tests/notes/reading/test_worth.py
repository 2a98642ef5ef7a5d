"""The table of worth, cell by cell where the reading guide says what it must be."""

import itertools

import pytest

from notes.reading.worth import meaning

MOODS = ("did", "order", "should", "unmet", "suppose", "question")


@pytest.mark.parametrize(
    ("action", "negated", "mood", "approved", "expected"),
    [
        ("bad", False, "did", False, "fault"),
        ("bad", True, "did", False, "nothing"),
        ("bad", True, "did", True, "strength"),
        ("bad", True, "order", False, "fault"),
        ("bad", False, "suppose", False, "nothing"),
        ("good", True, "did", False, "lack"),
        ("good", False, "did", False, "nothing"),
        ("good", False, "did", True, "strength"),
        ("good", False, "order", False, "fix"),
        ("good", False, "should", False, "fix"),
        ("good", False, "unmet", False, "fix"),
        ("bad", False, "did", True, "fault"),
        ("good", True, "did", True, "lack"),
    ],
)
def test_what_grammar_makes_of_an_action(action, negated, mood, approved, expected) -> None:
    assert meaning(action, negated=negated, mood=mood, approved=approved) == expected


def test_every_cell_has_a_meaning() -> None:
    for action, negated, mood, approved in itertools.product(("bad", "good"), (True, False), MOODS, (True, False)):
        assert meaning(action, negated=negated, mood=mood, approved=approved)  # type: ignore[arg-type]
