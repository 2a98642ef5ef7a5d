"""Which faults are spoken of: the stated rule, part by part."""

from made_notes import note

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.report.priorities import MOST_PRIORITIES, choose_priorities


def chosen(lexicon: Lexicon, notes: list[Kept], earlier: list[Kept] | None = None) -> list[str]:
    return [p.line.key for p in choose_priorities(notes, earlier or [], lexicon)]


def test_at_most_three_the_most_frequent_first(vocabulary: Lexicon) -> None:
    notes = [
        note(f, at_s=i) for i, f in enumerate("predictable reaching rushing gassing low-output low-output".split())
    ]

    found = chosen(vocabulary, notes)

    assert len(found) == MOST_PRIORITIES and found[0] == "low-output"


def test_a_repeated_danger_goes_before_what_was_seen_more_often(vocabulary: Lexicon) -> None:
    often = [note("low-output", at_s=i) for i in range(4)]

    assert chosen(vocabulary, [*often, note("chin-up", at_s=50), note("chin-up", at_s=60)])[0] == "chin-up"
    assert chosen(vocabulary, [*often, note("chin-up", at_s=50)])[0] == "low-output"


def test_a_danger_whose_outcome_the_coach_told_goes_first(vocabulary: Lexicon) -> None:
    often = [note("low-output", at_s=i) for i in range(4)]

    assert chosen(vocabulary, [*often, note("chin-up", at_s=50, why="his hook finds it")])[0] == "chin-up"


def test_a_fault_of_earlier_sessions_weighs_more_than_a_new_one(vocabulary: Lexicon) -> None:
    new = [note("rushing", session=2), note("predictable", session=2, at_s=60)]

    assert chosen(vocabulary, new)[0] == "rushing"
    assert chosen(vocabulary, new, [note("predictable", session=0), note("predictable", session=1)])[0] == "predictable"


def test_faults_with_one_fix_take_one_place_while_others_are_left(vocabulary: Lexicon) -> None:
    feet = [note(f, at_s=i) for i, f in enumerate("wide-stance narrow-stance crossing-feet flat-footed".split())]

    assert chosen(vocabulary, [*feet, note("rushing", at_s=70)])[:2] == ["wide-stance", "rushing"]
    assert len(chosen(vocabulary, feet)) == 3


def test_the_coachs_own_fault_comes_after_a_known_one_of_the_same_weight(vocabulary: Lexicon) -> None:
    own = note("unlisted", at_s=1, unlisted="glove half off")

    assert chosen(vocabulary, [own, note("rushing", at_s=9)]) == ["rushing", "unlisted: glove half off"]
