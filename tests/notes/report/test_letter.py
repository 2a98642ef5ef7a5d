"""The critique as an athlete would read it."""

import pytest
from made_notes import MARA, NIA, note, watched

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.people import KnownPerson
from notes.report.caution import CAUTION
from notes.report.critique import make_critique
from notes.report.document import Document, lines_of
from notes.report.edits import finish
from notes.report.letter import Shown, critique_document
from notes.report.wording import spoken

LOG = [
    note("strength:jab", at_s=5, quote="Uh, lovely long jab, uh, right down the pipe."),
    note("hands-low", at_s=20),
    note("hands-low", at_s=40, quote="Um, hands are down again, get them up.", fixes=("hands-up",), why="she sees it"),
    note("no-setup", at_s=60, techniques=("low-kick",)),
]


def letter(lexicon: Lexicon, notes: list[Kept], person: KnownPerson = MARA, sessions: int = 1) -> Document:
    last = max(kept.day for kept in notes)
    critique = make_critique(person, notes, watched(sessions), lexicon, last, last)
    return critique_document(critique, lexicon, Shown())


def said(document: Document) -> list[str]:
    return list(lines_of(document))


def test_each_priority_has_quote_reason_cue_drill_and_moment(vocabulary: Lexicon) -> None:
    lines = said(letter(vocabulary, LOG))

    start = lines.index("Hands low")
    assert lines[start : start + 6] == [
        "Hands low",
        "“Hands are down again, get them up.”",
        "Seen: twice: round 1 at 0:20 and round 1 at 0:40.",
        "Why: “she sees it”",
        "Instead: Keep the door shut.",
        "Drill: Bag rounds with a tennis ball under the chin hand: 3 x 2 min.",
    ]
    assert "Jab: “Lovely long jab, right down the pipe.” (round 1 at 0:05)" in lines


def test_a_foul_is_answered_by_its_rule_not_by_a_drill_of_another_fault(vocabulary: Lexicon) -> None:
    lines = said(letter(vocabulary, [note("foul", quote="That is against the rules, that knee.")]))

    assert "Instead: Ask which rule it was and keep to it." in lines
    assert not any(line.startswith("Drill:") for line in lines)


def test_a_reason_of_the_lexicon_is_not_put_in_the_coachs_mouth(vocabulary: Lexicon) -> None:
    lines = said(letter(vocabulary, LOG))

    assert "Why: It is seen, caught or walked through." in lines


def test_earlier_sessions_are_told(vocabulary: Lexicon) -> None:
    lines = said(letter(vocabulary, [note("reaching"), note("reaching", session=1, at_s=9)], sessions=2))

    assert "Seen: once: round 1 at 0:09. Also seen in 1 earlier session, last on 1 March 2031." in lines


def test_a_welfare_sign_stands_before_all_else_with_the_caution(vocabulary: Lexicon) -> None:
    lines = said(letter(vocabulary, [*LOG, note("welfare:", at_s=70, quote="That one buzzed you.")]))

    place = next(i for i, line in enumerate(lines) if "buzzed" in line)
    assert CAUTION in lines[place + 1] and place + 1 < lines.index("What went well")
    assert sum("buzzed" in line for line in lines) == 1


def test_nothing_is_said_of_progress_that_chance_could_do(vocabulary: Lexicon) -> None:
    few = [note("reaching", at_s=i) for i in range(3)] + [note("reaching", session=1)]
    many = [note("reaching", session=s, at_s=i) for s in range(4) for i in range(6)] + [note("rushing", session=7)]

    assert not any("less often" in line for line in said(letter(vocabulary, few, sessions=2)))
    assert any(
        line.startswith("Reaching: 24 in 12 rounds before, 0 in 12")
        for line in said(letter(vocabulary, many, sessions=8))
    )


def test_a_junior_gets_plain_words_no_counts_no_contact_and_a_line_to_the_guardian(vocabulary: Lexicon) -> None:
    notes = [*LOG, note("not-answering-back", at_s=80), note("hands-low", session=-1)]

    lines = said(letter(vocabulary, notes, NIA))

    assert "For Nia, and for a parent or guardian." in lines and "Your hands are too low" in " ".join(lines)
    assert "You get hit and do not hit back" in lines
    assert not any(line.startswith("Seen") or "earlier" in line for line in lines)
    assert not any("Partner touches" in line for line in lines)


def test_every_line_can_be_traced_to_its_notes(vocabulary: Lexicon) -> None:
    document = letter(vocabulary, [*LOG, note("advice:", at_s=90)])
    ids = {kept.observation.id for kept in LOG}
    traced = {i for section in document.sections for i in section.notes}

    assert ids <= traced
    assert all(
        section.notes for section in document.sections if section.key.startswith(("point-", "strengths", "advice"))
    )
    assert all(i in " ".join(lines_of(finish(document))) for i in ids)


def test_equal_logs_give_equal_letters_and_names_vary_them(vocabulary: Lexicon) -> None:
    openings = set()
    for number, name in enumerate("Ada Bo Cy Dee Eli Flo Gus Hal".split()):
        person = KnownPerson(number, name, None, junior=False)
        assert letter(vocabulary, LOG, person) == letter(vocabulary, LOG, person)
        openings.add(said(letter(vocabulary, LOG, person))[1])

    assert len(openings) == 3


@pytest.mark.parametrize(
    ("heard", "told"),
    [
        ("Um, hands up, uh, on the way out.", "Hands up, on the way out."),
        ("Hands, erm, up.", "Hands, up."),
        ("Well, you know, hands up.", "Well, you know, hands up."),
        ("That umbrella of a guard, her hum.", "That umbrella of a guard, her hum."),
        ("uh", "uh"),
    ],
)
def test_only_hesitation_is_cleaned_away(heard: str, told: str) -> None:
    assert spoken(heard) == told


def test_the_juniors_own_wording_reads_at_grade_six_or_below(vocabulary: Lexicon) -> None:
    """Flesch-Kincaid grade by textstat (Kincaid et al. 1975); of what the program words itself, not of quotes."""
    import textstat

    worst = []
    for fault in vocabulary.of_sort("fault"):
        document = letter(vocabulary, [note(fault.id)], NIA)
        own = [line.split(": ", 1)[-1] for line in lines_of(document) if "“" not in line]
        text = " ".join(
            line if line.endswith((".", "?")) else f"{line}." for line in own if "numbers of the notes" not in line
        )
        text = text.replace(own[-1], "")
        worst.append((textstat.flesch_kincaid_grade(text), fault.id))

    assert max(worst)[0] <= 6, sorted(worst)[-5:]
