"""One footage told of by several recordings: what is the same footage, and what is seen once in it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from archive_logs import day, note, watched
from hypothesis import given, settings
from hypothesis import strategies as st
from remarks import note as remark
from reviews import sheet

from lexicon import Lexicon
from notes.archive.archive import Archive, Kept
from notes.archive.correcting import correct
from notes.archive.exposure import exposure, watched_of
from notes.archive.footage import Footage, Review, fingerprint, footages
from notes.archive.log import fault_log
from notes.archive.moments import SAME_MOMENT_MS, moments_of
from notes.archive.progress import progress
from notes.model import Reading, Segment, Transcript
from notes.speech.transcripts import transcript_json

DAY, NEXT = date(2031, 3, 14), date(2031, 3, 15)
SESSION = ("2031-03-14", "devon", "[180, 60]")


def same(*reviews: Review) -> list[list[str]]:
    """The recordings, those of one footage together."""
    found: dict[str, list[str]] = {}
    for recording, footage in footages(reviews).items():
        found.setdefault(footage.key, []).append(recording)
    return list(found.values())


@pytest.mark.parametrize(
    ("one", "other", "is_same"),
    [
        (Review("a", DAY, "f.mp4", "print"), Review("b", DAY, "copy.mp4", "print"), True),
        (Review("a", DAY, "f.mp4", "print"), Review("b", NEXT, "f.mp4", "print"), True),
        (Review("a", DAY, "f.mp4", "print", SESSION), Review("b", DAY, "f.mp4", "other", SESSION), False),
        (Review("a", DAY, "f.mp4"), Review("b", DAY, "f.mp4", "print"), True),
        (Review("a", DAY, "f.mp4"), Review("b", DAY, "f.mp4"), True),
        (Review("a", DAY, "f.mp4"), Review("b", NEXT, "f.mp4"), False),
        (Review("a", DAY, "f.mp4", session=SESSION), Review("b", DAY, "g.mp4", session=SESSION), False),
        (Review("a", DAY, "f.mp4", "print", SESSION), Review("b", DAY, session=SESSION), True),
        (Review("a", DAY, session=SESSION), Review("b", DAY, session=SESSION), True),
        (Review("a", DAY), Review("b", DAY), False),
    ],
)
def test_what_is_the_same_footage(one: Review, other: Review, is_same: bool) -> None:
    assert len(same(one, other)) == len(same(other, one)) == (1 if is_same else 2)


def test_a_memo_that_two_footages_fit_is_taken_for_neither() -> None:
    films = [Review(name, DAY, f"{name}.mp4", name, SESSION) for name in ("a", "b")]

    assert same(*films, Review("memo", DAY, session=SESSION)) == [["a"], ["b"], ["memo"]]


def test_footage_told_of_on_two_days_counts_on_the_first() -> None:
    found = footages([Review("late", NEXT, "f.mp4", "print"), Review("early", DAY, "f.mp4", "print")])

    assert {footage.day for footage in found.values()} == {DAY}


def test_a_fingerprint_tells_bytes_not_names(tmp_path: Path) -> None:
    big = b"\0" * 3_000_000
    files = {"one": big + b"1", "copy": big + b"1", "other": big + b"2", "shorter": big[1:] + b"1"}
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    prints = {name: fingerprint(tmp_path / name) for name in files}

    assert prints["one"] == prints["copy"]
    assert len(set(prints.values())) == 3
    assert fingerprint(tmp_path / "missing") is None


def told(recording: str, *at_ms: int | None, footage: str = "film") -> list[Kept]:
    """Notes on one fault at such times of a footage."""
    made = (note(0, footage_ms=at, start_ms=i * 10_000) for i, at in enumerate(at_ms))
    return [replace(kept, recording_sha256=recording, shows=Footage(footage, day(0))) for kept in made]


@pytest.mark.parametrize(
    ("notes", "times"),
    [
        (told("live", 43_500) + told("memo", 43_000), 1),
        (told("live", 43_000) + told("memo", 46_000), 1),
        (told("live", 43_000) + told("memo", 46_001), 2),
        (told("live", 43_000, 44_000), 2),
        (told("live", 43_000, 44_000) + told("memo", 43_500), 2),
        (told("live", 43_000) + told("memo", 43_000, footage="another"), 2),
        (told("live", None) + told("memo", None), 2),
        (told("live", 0) + told("memo", 2_500) + told("third", 5_000), 2),
    ],
)
def test_a_moment_is_told_by_several_recordings_within_three_seconds(notes: list[Kept], times: int) -> None:
    assert len(moments_of(notes)) == times


times_ms = st.lists(st.integers(0, 60_000), max_size=12)
reviews = st.dictionaries(st.sampled_from("abcd"), times_ms, max_size=4)


@given(reviews, st.randoms())
def test_moments_part_the_notes_in_any_order(by_recording: dict[str, list[int]], chance) -> None:
    notes = [kept for name, at in by_recording.items() for kept in told(name, *at)]
    found = moments_of(notes)
    shuffled = chance.sample(notes, len(notes))

    assert sorted(map(id, notes)) == sorted(id(kept) for moment in found for kept in moment)
    assert {frozenset(m) for m in moments_of(shuffled)} == {frozenset(m) for m in found}
    assert max(map(len, by_recording.values()), default=0) <= len(found)
    for moment in found:
        at = [kept.observation.footage_ms for kept in moment]
        assert max(at) - min(at) <= SAME_MOMENT_MS
        assert len({kept.recording_sha256 for kept in moment}) == len(moment)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 600_000), st.integers(0, SAME_MOMENT_MS)), min_size=1, max_size=20))
def test_a_footage_told_again_changes_no_count(said: list[tuple[int, int]]) -> None:
    """A second review that tells of the same moments, each up to three seconds late, and one that tells of no more."""
    once = told("live", *(at for at, _ in said))
    again = told("memo", *(at + late for at, late in said))

    alone, both = (fault_log(notes, watched([3.0])) for notes in (once, once + again))

    assert [(x.times, x.sessions, x.standing) for x in both] == [(x.times, x.sessions, x.standing) for x in alone]
    known = replace(watched([3.0]), counted=frozenset({"live", "memo"}))
    assert progress(once + again, known).faults == progress(once, known).faults


HEARD = Transcript((Segment(0, 400_000, "What was heard."),), model="test")


def keep(archive: Archive, name: str, quotes: list[str], footage: Path, **keys) -> None:
    """A review of two rounds with a note on the same fault for each quote, 20 s apart on the footage."""
    facts = sheet(rounds={"length": 180, "rest": 40}, **keys)
    notes = [remark(q, i * 20_000 + 500, footage_ms=i * 20_000 + 500, round=1) for i, q in enumerate(quotes)]
    seen = tuple(o.with_id(name) for o in notes)
    archive.add(Reading(f"{name}.vtt", name, HEARD, "", seen), facts, DAY, footage, transcript_json(HEARD))


def test_a_live_narration_and_a_memo_of_one_footage_count_its_rounds_and_moments_once(
    home: Path, vocabulary: Lexicon, tmp_path: Path
) -> None:
    film, copy = tmp_path / "film.mp4", tmp_path / "upload" / "film.mp4"
    copy.parent.mkdir()
    film.write_bytes(b"film")
    copy.write_bytes(b"film")
    with Archive(home) as archive:
        keep(archive, "live", ["Chin up there.", "Again, chin up.", "And again."], film)
        keep(archive, "memo", ["The chin is in the air.", "Chin up again."], copy, narration="memo")
        mara = archive.athlete("Mara")
        known, notes = exposure(watched_of(archive, mara)), archive.observations_of(mara)
        (line,) = fault_log(notes, known)

        assert known.summary == "2 rounds watched (1 recording of the same footage again)"
        assert (line.times, len(line.notes), [len(m) for m in line.moments]) == (3, 5, [2, 2, 1])
        assert progress(notes, known).faults[0].rate.count == 3

        memo = [kept for kept in notes if kept.recording_sha256 == "memo"]
        correct(archive, vocabulary, [memo[0].observation.id], "struck")
        (line,) = fault_log(archive.observations_of(mara), known)
        assert (line.times, len(line.notes)) == (3, 4), "the other telling still stands"
        assert [kept.verdict for kept in archive.observations_in("live")] == [None] * 3
