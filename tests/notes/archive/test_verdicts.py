"""What people decided, laid over readings that differ."""

from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from remarks import SAYINGS, note

from notes.archive.verdicts import Entry, Thread, Verdict, amended, lay_over, threads_of
from notes.model import Observation

FAULTS = ["head-on-centreline", "slow-return", "hands-low-on-exit", "no-setup", "chin-up"]


@st.composite
def readings(draw: st.DrawFn) -> list[Observation]:
    """Up to eight remarks, ten seconds apart, some said of the same words."""
    said = draw(st.lists(st.sampled_from(SAYINGS), unique=True, max_size=6))
    found = {}
    for place, quote in enumerate(said):
        for _ in range(draw(st.integers(1, 2))):
            fault, athlete = draw(st.sampled_from(FAULTS)), draw(st.sampled_from(["Mara", "Ines"]))
            o = note(quote, place * 10_000, faults=(fault,), athlete=athlete)
            found[o.id] = o
    return list(found.values())


def word(number: int, seen: Observation, state: Any, reading: list[Observation], **values: Any) -> Verdict:
    beside = frozenset(o.id for o in reading) - {seen.id}
    verdict = Verdict(number, number, False, state, seen, {}, "Imre", "2031-03-14T10:00:00+00:00", beside=beside)
    return replace(verdict, **values)


@st.composite
def decided(draw: st.DrawFn) -> tuple[list[Observation], list[Thread]]:
    """A reading and words on some of its remarks."""
    reading = draw(readings())
    verdicts: list[Verdict] = []
    for o in reading:
        for state in draw(st.lists(st.sampled_from(["kept", "amended", "struck", "undone"]), max_size=3)):
            thread = next((v.thread for v in verdicts if v.seen == o), None)
            number = len(verdicts) + 1
            changes = {"faults": ("no-setup",)} if state == "amended" else {}
            verdicts.append(word(number, o, state, reading, thread=thread or number, changes=changes))
    return reading, list(threads_of(verdicts))


def by_id(entries: tuple[Entry, ...]) -> dict[str, Entry]:
    found = {e.observation.id: e for e in entries}
    assert len(found) == len(entries)
    return found


@given(decided(), readings(), st.data())
def test_no_word_is_lost_and_each_stands_for_one_remark(
    given_on: tuple[list[Observation], list[Thread]], later: list[Observation], data: st.DataObject
) -> None:
    _, threads = given_on
    split = data.draw(st.integers(0, len(later)))
    entries = lay_over(later[:split], later[split:], threads, timed=data.draw(st.booleans()))

    standing = {t.id: t.standing for t in threads if t.standing}
    told = [e for e in entries if e.verdict]
    assert {e.thread: (e.verdict, e.observation) for e in told} == {
        i: (v.state, amended(v.seen, v.changes)) for i, v in standing.items()
    }
    assert len(told) == len(standing)
    claimed = [e.read_as for e in entries if e.read_as]
    assert len(claimed) == len(set(claimed))
    assert {e.observation.id for e in entries if not e.verdict} == {o.id for o in later[:split]} - {
        e.read_as for e in told
    }


@given(decided())
def test_the_same_reading_again_changes_nothing(given_on: tuple[list[Observation], list[Thread]]) -> None:
    reading, threads = given_on
    entries = by_id(lay_over(reading, [], threads, timed=True))

    assert set(entries) == {o.id for o in reading}
    assert all(e.read_as == i for i, e in entries.items())
    spoken = {t.anchor.seen.id: t.standing for t in threads}
    for o in reading:
        standing = spoken.get(o.id)
        assert entries[o.id].verdict == (standing.state if standing else None)
        assert standing or entries[o.id].observation == o


@given(decided(), readings(), st.randoms(use_true_random=False))
def test_the_order_of_remarks_and_words_does_not_matter(
    given_on: tuple[list[Observation], list[Thread]], later: list[Observation], random: Any
) -> None:
    _, threads = given_on
    first = by_id(lay_over(later, [], threads, timed=True))
    random.shuffle(later)
    random.shuffle(threads)

    assert by_id(lay_over(later, [], threads, timed=True)) == first


@given(readings(), st.data())
def test_struck_stays_struck_under_other_times_and_wording(reading: list[Observation], data: st.DataObject) -> None:
    struck = data.draw(st.sets(st.sampled_from(reading))) if reading else set()
    threads = threads_of(word(i, o, "struck", reading) for i, o in enumerate(sorted(struck, key=lambda o: o.id), 1))
    later = {}
    for o in reading:
        words = o.quote.split()
        words[data.draw(st.integers(0, len(words) - 1))] = "umm"
        shift = data.draw(st.integers(-2_500, 2_500))
        moved = replace(o, quote=" ".join(words), start_ms=o.start_ms + shift, end_ms=o.end_ms + shift)
        later[o.id] = moved.with_id("recording")

    entries = by_id(lay_over(list(later.values()), [], threads, timed=True))

    log = {e.observation.id for e in entries.values() if e.verdict != "struck"}
    assert log == {later[o.id].id for o in reading if o not in struck}


def test_a_word_on_one_of_two_remarks_leaves_the_other_alone() -> None:
    """What stood beside a struck remark is another remark, also when the struck one is read no more."""
    wrong = note("Hands low and chin up there.", faults=("chin-up",))
    right = note("Hands low and chin up there.", faults=("hands-low-on-exit",))
    threads = threads_of([word(1, wrong, "struck", [wrong, right])])

    entries = lay_over([right], [], threads, timed=True)

    assert [(e.observation.faults, e.verdict) for e in entries] == [
        (("hands-low-on-exit",), None),
        (("chin-up",), "struck"),
    ]


def test_another_sentence_of_the_same_caption_is_another_remark() -> None:
    seen = note("Your chin is up in the air every time he feints.")
    other = note("You walked out of the exchange with both hands down.")

    entries = lay_over([other], [], threads_of([word(1, seen, "struck", [seen])]), timed=True)

    assert {e.verdict for e in entries} == {None, "struck"}


def test_what_the_reading_comes_to_say_as_amended_is_not_logged_twice() -> None:
    seen = note("Your chin is up in the air every time he feints.", kind="strength", faults=())
    threads = threads_of([word(1, seen, "amended", [seen], changes={"kind": "fault", "faults": ("chin-up",)})])
    later = note("Your chin is up in the air every time he feints.")

    (entry,) = lay_over([later], [], threads, timed=True)

    assert (entry.verdict, entry.read_as, entry.observation.kind) == ("amended", later.id, "fault")


def test_an_offered_remark_is_logged_once_a_person_keeps_it() -> None:
    offered = note("Your chin is up in the air every time he feints.")
    verdict = word(1, offered, "kept", [offered])

    assert lay_over([], [offered], [], timed=True) == ()
    assert [e.verdict for e in lay_over([], [offered], threads_of([verdict]), timed=True)] == ["kept"]
    undone = replace(verdict, id=2, state="undone")
    assert lay_over([], [offered], threads_of([verdict, undone]), timed=True) == ()


def test_an_added_note_stands_for_a_remark_that_says_the_same_alone() -> None:
    own = replace(note("Your chin is up in the air every time he feints."), id="own")
    threads = threads_of([word(1, own, "amended", [], added=True)])
    same = note("Your chin is up in the air every time he feints.")
    other = note("Your chin is up in the air every time he feints.", faults=("no-setup",))

    assert len(lay_over([same], [], threads, timed=True)) == 1
    assert len(lay_over([other], [], threads, timed=True)) == 2


def test_a_kind_without_faults_has_none() -> None:
    seen = note("Your chin is up.", fixes=("tuck-chin",))

    praised = amended(seen, {"kind": "strength"})
    assert (praised.faults, praised.fixes) == ((), ())
    assert amended(praised, {"kind": "fault"}).unlisted == "Your chin is up."
