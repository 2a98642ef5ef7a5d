"""Which clips follow from which notes, and what they are called."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from notes.archive.archive import Kept
from notes.archive.media import Media
from notes.model import Observation
from notes.report.moments import Talk, plan_clips, safe, talk_of

LIVE = Media("review.m4a", "live", Path("sparring.mp4"), None, live=True, rounds=None, segments=())
MEMO = replace(LIVE, recording="memo.m4a", sha256="memo", live=False)


def note(
    footage_s: float, *, said_s: tuple[float, float] | None = None, athlete: str = "Mara", of: Media = LIVE
) -> Kept:
    start, end = said_s or (footage_s, footage_s + 2)
    observation = Observation(
        athlete, "athlete", "fault", ("jab",), ("hands-low",), (), None, None, round(start * 1000), round(end * 1000),
        round(footage_s * 1000), 1, False, "Hands.", 0.9, f"{round(footage_s * 10):012x}",
    )  # fmt: skip
    return Kept(observation, of.recording, of.sha256, date(2031, 3, 14), True)


def stretches(*notes: Kept, heard: tuple[str, ...] = ()) -> list[tuple[float, float]]:
    clips = plan_clips(notes, {"live": LIVE, "memo": MEMO}, 4_000, 6_000, heard)
    return [(clip.start_ms / 1000, clip.end_ms / 1000) for clip in clips]


def test_stretches_that_touch_are_one_clip_and_none_begins_before_the_footage() -> None:
    assert stretches(note(1), note(11), note(21.1), note(60)) == [(0, 17), (17.1, 27.1), (56, 66)]


def test_two_athletes_moments_stay_apart() -> None:
    assert stretches(note(10), note(12, athlete="Ines")) == [(8, 18), (6, 16)]


def test_a_clip_lasts_until_the_coach_has_spoken_where_the_coach_is_heard() -> None:
    long = note(10, said_s=(10, 25))

    assert stretches(long) == [(6, 16)]
    assert stretches(long, heard=("live",)) == [(6, 25.35)]


def test_remarks_of_a_memo_follow_one_another_from_their_moments_on() -> None:
    notes = [note(20, said_s=(3, 8), of=MEMO), note(22, said_s=(30, 34), of=MEMO)]

    (clip,) = plan_clips(notes, {"memo": MEMO}, 4_000, 6_000, ("memo",))

    # Each with .35 s on both sides; the second waits until the first is over.
    assert talk_of(clip) == [Talk(2_650, 8_350, 4_000), Talk(29_650, 34_350, 9_700)]
    assert (clip.start_ms, clip.end_ms) == (16_000, 16_000 + 9_700 + 4_700)


def test_names_that_look_alike_as_files_stay_apart() -> None:
    clips = plan_clips([note(10, athlete="Ana!"), note(10, athlete="Ana?")], {"live": LIVE}, 4_000, 6_000)

    assert [clip.stem for clip in clips] == [
        "ana-hands-low-r1-2031-03-14-0m10s",
        "ana-hands-low-r1-2031-03-14-0m10s-000000000064",
    ]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Zoë O'Neill", "zoë-o-neill"),
        ("../../etc/passwd", "etc-passwd"),
        ("Ольга", "ольга"),
        ("प्रिया", "प्रिया"),
        ("李小龍", "李小龍"),
        ("نورة", "نورة"),
        ("🥊", "athlete"),
        ("a:b*c?", "a-b-c"),
    ],
)
def test_any_name_becomes_part_of_a_file_name(name: str, expected: str) -> None:
    assert safe(name) == expected


def test_a_very_long_name_fits_a_file_system() -> None:
    assert len(safe("ж" * 400).encode()) <= 80
