import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes.speech.transcripts import _VTT_TIME, _milliseconds
from notes.times import Played, Rounds, TimeMap, caption_stamp, clock

MS = st.integers(0, 400 * 3_600_000)


@given(MS)
def test_a_caption_time_reads_back_as_written(ms: int) -> None:
    match = _VTT_TIME.fullmatch(caption_stamp(ms))

    assert match and _milliseconds(match) == ms


@given(MS)
def test_a_printed_clock_never_shows_sixty_seconds(ms: int) -> None:
    assert int(clock(ms).split(":")[-1]) < 60


@given(st.integers(1, 12), st.integers(0, 180_000))
def test_every_moment_of_a_round_is_in_that_round(number: int, into: int) -> None:
    rounds = Rounds(180_000, 60_000, 5_000)

    assert rounds.at(rounds.start(number) + into) == number


def test_round_starts_by_the_common_sum() -> None:
    """Rounds of 3:00, rests of 1:00, first bell at 0:05 (worked by hand)."""
    rounds = Rounds(180_000, 60_000, 5_000)

    assert [rounds.start(n) for n in (1, 2, 3)] == [5_000, 245_000, 485_000]
    assert rounds.at(4_000) is None
    assert rounds.at(200_000) is None


@pytest.mark.parametrize(
    ("rounds", "number", "starts"),
    [
        # Muay thai, professional: 5 x 3 min, 2 min rest (WMC rules 7.3)
        (Rounds(180_000, 120_000, 0), 4, "15:00"),
        # MMA, professional: 5 min, 1 min rest (Mississippi 30-301-4.2)
        (Rounds(300_000, 60_000, 12_000), 3, "12:12"),
        # Muay thai, amateur, 12-13 years: 1:30, 1 min rest (Ontario amateur rules, part IV)
        (Rounds(90_000, 60_000, 5_000), 2, "2:35"),
        # Boxing, professional women: 2 min, 1 min rest (Illinois Admin. Code 68 section 1370.540)
        (Rounds(120_000, 60_000, 30_000), 3, "6:30"),
    ],
)
def test_rounds_of_published_rules_start_where_the_sum_says(rounds: Rounds, number: int, starts: str) -> None:
    assert clock(rounds.start(number)) == starts


def test_footage_under_a_talk_with_pause_seek_and_slow_motion() -> None:
    """Worked by hand: play at 1 s from 0:05, pause at 3 s, on at 6 s, seek to 1:00 at 8 s, half speed from 10 s."""
    talk = TimeMap(
        (
            Played(1_000, 5_000, 1),
            Played(3_000, 7_000, 0),
            Played(6_000, 7_000, 1),
            Played(8_000, 60_000, 1),
            Played(10_000, 62_000, 0.5),
        )
    )

    assert [talk.footage(at) for at in (500, 2_000, 5_900, 7_000, 8_000, 9_999, 14_000)] == [
        None, 6_000, 7_000, 8_000, 60_000, 61_999, 64_000,
    ]  # fmt: skip
