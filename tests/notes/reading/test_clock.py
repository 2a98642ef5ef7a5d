"""Spoken clocks: values worked by hand from the stated sums."""

import pytest
from reviews import read, sheet, talk

from lexicon import Lexicon
from lexicon.tokens import tokenize
from notes.reading.clock import spoken_clock, spoken_round
from notes.reading.observations import read_review

ROUNDS = {"length": 180, "rest": 60, "first_starts_at": 5}


def words(text: str) -> list[str]:
    return list(tokenize(text).forms)


@pytest.mark.parametrize(
    ("text", "seconds", "reads"),
    [
        ("At a minute ten on the video, hands down.", 70, "video"),
        ("Two-oh-five.", 125, "sheet"),
        ("One twenty-two, you lean back.", 82, "sheet"),
        ("At 2:05 you drop the hand.", 125, "sheet"),
        ("Thirty left in the first.", 30, "left"),
        ("A minute and a half in.", 90, "elapsed"),
        ("Forty seconds into round two.", 40, "elapsed"),
        ("Ten seconds later, same again.", 10, "later"),
        ("Four minutes exactly, jab.", 240, "sheet"),
        ("Half a minute gone.", 30, "elapsed"),
        ("at four twelve on the video", 252, "video"),
        ("1 minute 12 on the video", 72, "video"),
    ],
)
def test_a_spoken_clock_is_heard(text: str, seconds: int, reads: str) -> None:
    found = spoken_clock(words(text))

    assert found is not None
    assert (found.seconds, found.reads) == (seconds, reads)


@pytest.mark.parametrize(
    "text",
    [
        "One two, then the hook.",
        "Throw the one-two-three.",
        "Two jabs and a left hook.",
        "Round two.",
        "Give me ten of those.",
    ],
)
def test_punch_numbers_and_counts_are_no_clock(text: str) -> None:
    assert spoken_clock(words(text)) is None


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("Round two, off we go.", 2),
        ("thirty left in the first", 1),
        ("The third round now.", 3),
        ("Bell for two.", 2),
        ("One two.", None),
    ],
)
def test_a_round_is_heard(text: str, number: int | None) -> None:
    assert spoken_round(words(text)) == number


@pytest.mark.parametrize(
    ("clock", "sentence", "footage"),
    [
        ("elapsed", "A minute ten into round two, you're leaning back.", 315.0),
        ("elapsed", "Thirty seconds left in the first, you're leaning back.", 155.0),
        ("left", "Round two, one minute ten, you're leaning back.", 355.0),
        ("video", "At six minutes, you're leaning back.", 360.0),
    ],
)
def test_a_memo_knows_footage_time_by_its_clock(vocabulary: Lexicon, clock: str, sentence: str, footage: float) -> None:
    """Rounds 3:00, rest 1:00, first bell 0:05: rounds start at 0:05, 4:05, 8:05."""
    (found,) = read(vocabulary, sentence, narration="memo", clock=clock, rounds=ROUNDS)

    assert found.footage_ms == footage * 1000


def test_a_time_past_the_rounds_end_is_told_and_not_used(vocabulary: Lexicon) -> None:
    facts = sheet(narration="memo", clock="elapsed", rounds=ROUNDS)

    review = read_review(talk("Three thirty into round two, you're leaning back."), facts, vocabulary)

    assert review.observations[0].footage_ms is None
    assert review.impossible == ("Three thirty into round two, you're leaning back.",)


def test_a_memo_without_a_clock_has_no_footage_time(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "You're leaning back.", narration="memo", rounds=ROUNDS)

    assert (found.footage_ms, found.round) == (None, None)


def test_bells_count_the_rounds_of_live_talk(vocabulary: Lexicon) -> None:
    found = read(
        vocabulary,
        "There's the bell.",
        "You're leaning back.",
        "And that's the bell.",
        "Right, your chin is in the air.",
        "Bell, round two.",
        "You're crossing your feet.",
    )

    assert [o.round for o in found] == [1, None, 2]
