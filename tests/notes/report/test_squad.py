"""What a club shares: counts with exposure, pairs, initials, and what does not belong on a wall."""

from hypothesis import given
from hypothesis import strategies as st
from made_notes import FIRST_DAY, MARA, NIA, note, watched

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.people import KnownPerson
from notes.report.document import lines_of
from notes.report.squad import Squad, initials, make_squad, member, squad_document, squad_json

TEO = KnownPerson(3, "Teo", None, junior=False)
UMA = KnownPerson(4, "Mona", None, junior=False)


def squad(lexicon: Lexicon, logs: dict[KnownPerson, list[Kept]]) -> Squad:
    return make_squad([member(person, notes, watched(1), [FIRST_DAY]) for person, notes in logs.items()], lexicon)


def sheet(made: Squad, lexicon: Lexicon, *, names: bool = False) -> str:
    return "\n".join(lines_of(squad_document(made, lexicon, names=names)))


def test_what_two_share_is_told_with_what_was_watched(vocabulary: Lexicon) -> None:
    made = squad(vocabulary, {MARA: [note("hands-low")], TEO: [note("hands-low"), note("rushing")]})
    text = sheet(made, vocabulary)

    assert [(s.fault, s.times) for s in made.shared] == [("hands-low", 2)]
    assert "2 athlete sessions, 6 rounds watched" in text
    assert "twice in 2 sessions; a small number" in text and "Rushing" not in text


def test_one_who_does_it_well_is_paired_with_one_whose_fault_it_is(vocabulary: Lexicon) -> None:
    made = squad(
        vocabulary,
        {
            MARA: [note("strength:low-kick"), note("slow-return", at_s=40, techniques=("jab",))],
            TEO: [note("no-setup", techniques=("low-kick",)), note("strength:jab", at_s=50)],
        },
    )

    assert {(p.helper.person.name, p.learner.person.name, p.technique) for p in made.pairs} == {
        ("Mara", "Teo", "low-kick"), ("Teo", "Mara", "jab"),
    }  # fmt: skip
    assert all(p.both_ways for p in made.pairs)
    assert "M shows T the low kick (against: no setup); they help each other." in sheet(made, vocabulary)


def test_nobody_helps_with_a_fault_of_their_own(vocabulary: Lexicon) -> None:
    fault = note("no-setup", techniques=("low-kick",))

    assert not squad(vocabulary, {MARA: [note("strength:low-kick", at_s=1), fault], TEO: [fault]}).pairs


def test_who_may_be_hurt_is_paired_with_nobody_and_the_wall_does_not_say_why(vocabulary: Lexicon) -> None:
    hurt = [note("no-setup", techniques=("low-kick",)), note("welfare:", at_s=70, quote="That one buzzed you.")]
    made = squad(vocabulary, {MARA: [note("strength:low-kick")], TEO: hurt})

    assert not made.pairs
    assert "buzzed" not in sheet(made, vocabulary) and "buzzed" not in str(squad_json(made))


def test_a_junior_is_paired_with_juniors_only(vocabulary: Lexicon) -> None:
    made = squad(vocabulary, {MARA: [note("strength:low-kick")], NIA: [note("no-setup", techniques=("low-kick",))]})

    assert not made.pairs


def test_the_wall_has_initials_and_no_quotes_unless_names_are_asked_for(vocabulary: Lexicon) -> None:
    made = squad(vocabulary, {MARA: [note("hands-low")], UMA: [note("hands-low")]})
    wall = sheet(made, vocabulary)

    assert "Mara" not in wall and "Mona" not in wall and "“" not in wall
    assert "M1 and M2" in wall
    assert "Mara and Mona" in sheet(made, vocabulary, names=True)


def test_the_session_has_no_contact_drill(vocabulary: Lexicon) -> None:
    made = squad(vocabulary, {MARA: [note("not-answering-back")], TEO: [note("not-answering-back")]})

    assert "Partner touches" not in sheet(made, vocabulary) and "Bag: each time it swings" in sheet(made, vocabulary)


@given(st.lists(st.text(min_size=1, max_size=12).filter(str.strip), min_size=1, max_size=12, unique=True))
def test_initials_tell_any_names_apart(names: list[str]) -> None:
    shown = initials(names)

    assert set(shown) == set(names) and len(set(shown.values())) == len(names)
