"""Months of readings, corrections and merged names, in any order, against a real database."""

import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from remarks import SAYINGS, note

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.correcting import correct, undo
from notes.archive.entries import threads
from notes.archive.merging import merge, split
from notes.archive.unjudged import Counts, counts, least_sure
from notes.model import Observation, Reading, Segment, Transcript
from notes.sheet import Sheet

NAMES = ("Mara", "Ines", "Marra")
HEARD = Transcript((Segment(0, 1_000, "What was heard."),), model="test")


def reading(said: list[tuple[int, int, str, bool]]) -> Reading:
    """Some of the sayings, each about somebody, up to two seconds off, logged or offered."""
    found: dict[bool, list[Observation]] = {True: [], False: []}
    for place, shift, athlete, logged in said:
        found[logged].append(note(SAYINGS[place], place * 10_000 + shift, athlete=athlete))
    return Reading("one.vtt", "one", HEARD, "lexicon", tuple(found[True]), tuple(found[False]))


said = st.lists(
    st.tuples(st.integers(0, len(SAYINGS) - 1), st.integers(0, 2_000), st.sampled_from(NAMES), st.booleans()),
    unique_by=lambda one: one[0],
    max_size=6,
)
steps = st.one_of(
    st.tuples(st.just("read"), said),
    st.tuples(st.sampled_from(["kept", "struck", "amended", "undo"]), st.integers(0, 5)),
    st.tuples(st.just("merge"), st.permutations(NAMES)),
    st.tuples(st.just("split"), st.sampled_from(NAMES)),
)


def take(archive: Archive, lexicon: Lexicon, step: tuple[str, Any]) -> None:
    what, how = step
    if what == "read":
        archive.add_readings([reading(how)])
        return
    if what in ("merge", "split"):
        one = {name: archive.athlete(name).id for name in NAMES}
        if what == "merge" and one[how[0]] != one[how[1]]:
            merge(archive, how[0], how[1])
        elif what == "split" and archive.athlete(how).name != how:
            split(archive, how)
        return
    ids = [k.observation.id for k in archive.observations_in("one")] + [o.id for o in archive.perhaps_in("one")]
    for i in ids[how : how + 1]:
        if what != "undo":
            correct(archive, lexicon, [i], what, {"round": 3} if what == "amended" else None)  # type: ignore[arg-type]
        elif any(t.standing and i == t.standing.seen.id for t in threads(archive.db, "one")):
            undo(archive, [i])


def indexed(archive: Archive) -> list[tuple[Any, ...]]:
    """What search looks at, by the ids of the entries."""
    texts = "SELECT e.id, w.words FROM entry_words w LEFT JOIN entry e ON e.number = w.place & 0xFFFFFFFF ORDER BY 1"
    return [tuple(row) for row in archive.db.execute(texts)]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(said, st.lists(steps, max_size=12))
def test_no_word_is_lost_and_the_log_follows_from_the_rest(
    vocabulary: Lexicon, first: list[tuple[int, int, str, bool]], later: list[tuple[str, Any]]
) -> None:
    facts = Sheet.model_validate({"sport": "mma", "athletes": [{"name": name} for name in NAMES]})
    with tempfile.TemporaryDirectory() as folder, Archive(Path(folder)) as archive:
        archive.add(reading(first), facts, date(2031, 3, 14), None, {})
        for step in later:
            take(archive, vocabulary, step)

            log = archive.observations_in("one")
            standing = {t.id: t.standing.state for t in threads(archive.db, "one") if t.standing}
            assert {k.thread: k.verdict for k in log if k.verdict} == standing
            offered = archive.perhaps_in("one")
            told = Counts(sum(k.verdict != "struck" for k in log), sum(k.verdict is None for k in log) + len(offered))
            assert counts(archive).get("one", Counts()) == told
            unjudged = [k.observation for k in log if k.verdict is None] + offered
            unjudged.sort(key=lambda o: (abs(o.confidence - 0.5), o.id))
            assert least_sure(archive, None, 3) == ([("one", o.id) for o in unjudged[:3]], len(unjudged))
            index = indexed(archive)
            archive.rebuild()
            assert archive.observations_in("one") == log
            assert indexed(archive) == index
        assert archive.db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert archive.db.execute("PRAGMA foreign_key_check").fetchall() == []
