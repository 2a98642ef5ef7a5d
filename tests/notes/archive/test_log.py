"""The fault log: standing by its rules, follow-through, grouping."""

import pytest
from archive_logs import day, faults, note, watched

from notes.archive.log import RECENT, Since, fault_log, standing

THREE = 3.0


@pytest.mark.parametrize(
    ("counts", "amounts", "expected"),
    [
        ([1], [3], "standing"),
        ([1, 0], [3, 3], "standing"),
        ([1, 0, 0], [3, 3, 3], "quiet"),
        ([1, 0, 0], [3, 1, 3], "standing"),
        ([4, 4, 1, 1], [3, 3, 3, 3], "easing"),
        ([4, 4, 2, 3], [3, 3, 3, 3], "standing"),
        ([2, 2, 1, 1], [2, 2, 4, 4], "easing"),
        ([1, 0, 0, 1], [3, 3, 3, 3], "back"),
        ([1, 0, 0, 1, 1], [3, 3, 3, 3, 3], "back"),
        ([1, 0, 1, 1], [3, 3, 3, 3], "standing"),
        ([1, 0, 0, 1], [3, 1, 1, 3], "standing"),
        ([0, 0, 0, 1], [3, 3, 3, 3], "standing"),
        ([5, 0, 0], [3, 0, 0], "standing"),
        ([0, 0], [3, 3], None),
    ],
)
def test_standing_is_by_what_was_watched(counts: list[int], amounts: list[float], expected: str | None) -> None:
    assert standing(counts, amounts, RECENT["round"]) == expected


def test_half_the_sessions_do_not_ease_a_fault_when_more_was_watched_before() -> None:
    """Two a session both times, but six rounds before and three since: the rate has doubled."""
    assert standing([2, 2, 2, 2], [6, 6, 3, 3], RECENT["round"]) == "standing"


def test_a_line_tells_how_much_was_watched_since_the_fault_was_seen() -> None:
    (line,) = fault_log(faults([2, 1, 0, 0]), watched([3, 3, 3, 4]))

    assert (line.times, line.sessions, line.last_seen, line.watched_since) == (3, 2, day(1), 7)
    assert line.standing == "quiet"


def test_notes_of_unknown_exposure_are_counted_but_do_not_move_the_standing() -> None:
    (line,) = fault_log(faults([1, 0, 0, 9]), watched([3, 3, 3, 0]))

    assert (line.times, line.last_seen, line.standing) == (10, day(3), "quiet")


def test_where_nothing_watched_is_known_no_standing_is_told() -> None:
    (line,) = fault_log(faults([2]))

    assert (line.times, line.standing, line.watched_since) == (2, None, 0)


def test_a_fix_is_followed_through_from_the_days_it_was_given() -> None:
    notes = [
        note(0, fixes=("tuck-chin",)),
        note(1),
        note(1, kind="advice", faults=(), fixes=("tuck-chin",)),
        note(2),
        note(2, kind="strength", faults=()),
        note(2, kind="strength", faults=(), techniques=("jab",)),
    ]

    line = fault_log(notes, watched([3, 3, 4]))[0]

    (followed,) = line.follow_through
    assert (followed.fix, followed.given) == ("tuck-chin", (day(0), day(1)))
    assert followed.since_first == Since(seen=2, praised=1, watched=7)
    assert followed.since_last == Since(seen=1, praised=1, watched=4)


def test_the_surest_reason_is_the_consequence() -> None:
    (line,) = fault_log([note(0, why="you get caught", confidence=0.6), note(1, why="his hook lands", confidence=0.9)])

    assert line.why == "his hook lands"


def test_unlisted_faults_alike_are_one_line() -> None:
    said = [
        "fishing with the back foot",
        "the back foot fishing",
        "you fish with that back foot",
        "eyes shut on the hook",
    ]
    notes = [note(at, "unlisted", unlisted=words) for at, words in enumerate(said)]

    lines = fault_log(notes, watched([THREE] * 4))

    assert [(line.key, line.times) for line in lines] == [
        ("unlisted: fishing with the back foot", 3),
        ("unlisted: eyes shut on the hook", 1),
    ]


def test_a_note_with_two_faults_stands_under_both() -> None:
    lines = fault_log([note(0, faults=("chin-up", "slow-return"))])

    assert sorted(line.key for line in lines) == ["chin-up", "slow-return"]
