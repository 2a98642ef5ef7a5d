"""Whose action it is."""

from reviews import read, sheet, talk

from lexicon import Lexicon
from notes.reading.observations import read_observations

TWO = [{"name": "Anton", "stance": "orthodox"}, {"name": "Reuben", "stance": "southpaw"}]


def test_who_acts_decides_not_who_is_named_first(vocabulary: Lexicon) -> None:
    (found,) = read(vocabulary, "Devon lands because your head is on the centreline.")

    assert (found.athlete, found.faults) == ("Mara", ("head-on-centreline",))


def test_the_opponents_fault_is_kept_as_the_opponents(vocabulary: Lexicon) -> None:
    found = read_observations(talk("You see, he is leaning back there.", "Devon again."), sheet(), vocabulary)

    assert [o.role for o in found if "leaning-back" in o.faults][:1] == ["opponent"]


def test_a_demonstration_is_the_coachs(vocabulary: Lexicon) -> None:
    found = read_observations(talk("Watch me, I'm leaning back here on purpose."), sheet(), vocabulary)

    assert {o.role for o in found} <= {"coach"}


def test_two_athletes_are_told_apart_by_name(vocabulary: Lexicon) -> None:
    found = read(
        vocabulary, "Anton, you're leaning back.", "Reuben, your chin is in the air.", athletes=TWO, opponent=None
    )

    assert [(o.athlete, o.faults) for o in found] == [("Anton", ("leaning-back",)), ("Reuben", ("chin-up",))]


def test_whoever_is_called_by_name_is_you_before_the_name_too(vocabulary: Lexicon) -> None:
    found = read(
        vocabulary, "Anton, you're leaning back.", "And your chin is in the air, Reuben.", athletes=TWO, opponent=None
    )

    assert [(o.athlete, o.faults) for o in found] == [("Anton", ("leaning-back",)), ("Reuben", ("chin-up",))]


def test_what_is_said_to_both_is_logged_for_both(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "Both of you, you're holding your breath.", athletes=TWO, opponent=None)

    assert sorted((o.athlete, o.faults) for o in found) == [("Anton", ("gassing",)), ("Reuben", ("gassing",))]


def test_a_coach_who_talks_about_the_athlete_means_them_by_she(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "Mara jabs.", "And she's leaning back on the cross.", "She does it well otherwise.")

    assert ("leaning-back",) in [o.faults for o in found]


def test_a_misspelt_name_is_still_the_athletes(vocabulary: Lexicon) -> None:
    found = read(vocabulary, "Anton, good.", "Reubin, your chin is in the air.", athletes=TWO, opponent=None)

    assert [o.athlete for o in found if o.kind == "fault"] == ["Reuben"]
