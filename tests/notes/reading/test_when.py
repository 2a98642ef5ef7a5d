"""Footage times of talk over footage that was paused and sought."""

from dataclasses import replace

from reviews import sheet, talk

from lexicon import Lexicon
from notes.reading.observations import read_observations
from notes.times import Played, TimeMap

ROUNDS = {"length": 180, "rest": 60, "first_starts_at": 0}


def test_a_note_stands_where_the_footage_was_when_it_was_spoken(vocabulary: Lexicon) -> None:
    """Paused at 4:10 while the second sentence is spoken, from 4 s of the talk on."""
    spoken = talk("He jabs.", "Your head stays on the centre line with the cross.")
    playback = TimeMap((Played(0, 245_000, 1), Played(3_500, 250_000, 0)))

    (fault,) = read_observations(replace(spoken, playback=playback), sheet(rounds=ROUNDS), vocabulary)

    assert (fault.start_ms, fault.footage_ms, fault.round) == (4_000, 250_000, 2)


def test_before_the_footage_is_there_no_time_is_known(vocabulary: Lexicon) -> None:
    spoken = talk("Your head stays on the centre line with the cross.")
    playback = TimeMap((Played(5_000, 0, 1),))

    (fault,) = read_observations(replace(spoken, playback=playback), sheet(rounds=ROUNDS), vocabulary)

    assert (fault.footage_ms, fault.round) == (None, None)
