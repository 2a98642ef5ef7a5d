"""The training plan: themes, drills, and what is left out for juniors and the hurt."""

from made_notes import MARA, NIA, note, watched

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.people import KnownPerson
from notes.report.caution import CAUTION
from notes.report.document import lines_of
from notes.report.plan import Plan, make_plan, plan_document, plan_json

LOG = [note("not-answering-back", at_s=i) for i in (1, 2)] + [note("no-setup", at_s=9), note("rushing", at_s=20)]


def plan(lexicon: Lexicon, notes: list[Kept], person: KnownPerson = MARA) -> Plan:
    return make_plan(person, notes, watched(8), lexicon)


def test_a_plan_has_up_to_three_themes_with_drills_and_signs(vocabulary: Lexicon) -> None:
    made = plan(vocabulary, LOG)
    text = "\n".join(lines_of(plan_document(made, vocabulary)))

    assert [theme.fix.id for theme in made.themes] == ["answer-back", "set-it-up", "be-patient"]
    assert "Partner touches, you answer within one beat: 3 x 2 min." in text
    assert "Better when: something goes back before they step away." in text
    assert "common practice, no source" in text and "Warm-up" in text


def test_a_junior_gets_no_contact_and_a_line_that_says_so(vocabulary: Lexicon) -> None:
    made = plan(vocabulary, LOG, NIA)
    text = "\n".join(lines_of(plan_document(made, vocabulary)))

    assert made.no_contact and not any(drill.contact for theme in made.themes for drill in theme.drills)
    assert all(theme.drills for theme in made.themes)
    assert "Nia is a junior. Drills with contact are left out (1 here)." in text
    assert (
        "qualified people" in text
        and "guardian" in text
        and "With a partner" not in text
        and "Light sparring" not in text
    )


def test_a_recent_welfare_note_keeps_contact_out_an_old_one_does_not(vocabulary: Lexicon) -> None:
    """Sessions of these logs are a week apart; notes of four weeks count."""
    lately = plan(vocabulary, [*LOG, note("welfare:", at_s=70)])
    long_ago = plan(vocabulary, [note("welfare:"), *(note("not-answering-back", session=6, at_s=i) for i in (1, 2))])

    text = "\n".join(lines_of(plan_document(lately, vocabulary)))
    assert lately.no_contact and CAUTION in text and "possibly hurt or unwell" in text
    assert not long_ago.no_contact


def test_what_has_gone_quiet_gives_way_to_what_stands(vocabulary: Lexicon) -> None:
    quiet = [note("rushing", session=0, at_s=i) for i in range(4)]
    stands = [note("no-setup", session=s) for s in (5, 6, 7)]

    assert [theme.fault for theme in plan(vocabulary, [*quiet, *stands]).themes] == ["no-setup"]


def test_the_json_names_drills_and_notes(vocabulary: Lexicon) -> None:
    data = plan_json(plan(vocabulary, LOG))

    assert data["themes"][0]["drills"][-1] == {
        "do": "Partner touches, you answer within one beat", "dose": "3 x 2 min", "needs": "partner", "contact": True,
    }  # fmt: skip
    assert data["themes"][0]["observations"] == [kept.observation.id for kept in LOG[:2]]
