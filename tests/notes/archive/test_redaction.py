"""What is left of a text when a person is taken out of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reviews import talk

from notes.archive.redaction import names_pattern, redact_transcript, without_names
from notes.model import Segment, Transcript, Word
from notes.speech.transcripts import transcript_json

MARA = names_pattern(["Mara Lind", "Mo"], others=["Nora", "Otto Lind"])


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Mara Lind, chin down.", "(forgotten), chin down."),
        ("Mara's chin is up", "(forgotten)'s chin is up"),
        ("MO! again", "(forgotten)! again"),
        ("no more of that", "no more of that"),
        ("mara_lind-0314.flac", "(forgotten)-0314.flac"),
        ("nora-and-mara.mp4", "nora-and-(forgotten).mp4"),
        ("Otto Lind was quicker", "Otto Lind was quicker"),
        ("Maraschino", "Maraschino"),
    ],
)
def test_names_go_in_any_form_and_other_words_stay(text: str, left: str) -> None:
    assert without_names(text, MARA) == left


def test_what_was_said_of_the_person_goes_and_what_was_said_of_others_stays() -> None:
    said = talk("Mara, your chin is up.", "Bring it down. Nora, lovely teep.", "And Mo is tired.")

    left = redact_transcript(
        transcript_json(said), MARA, gone=["Mara, your chin is up. Bring it down."], kept=["Nora, lovely teep."]
    )

    assert [s["text"] for s in left["segments"]] == [
        "(forgotten).",
        "(forgotten). Nora, lovely teep.",
        "And (forgotten) is tired.",
    ]
    assert [(s["start"], s["end"]) for s in left["segments"]] == [(0.0, 3.0), (4.0, 7.0), (8.0, 11.0)]


def test_a_sentence_said_of_both_loses_the_name_only() -> None:
    said = talk("Mara and Nora both lean back.")
    both = "Mara and Nora both lean back."

    left = redact_transcript(transcript_json(said), MARA, gone=[both], kept=[both])

    assert left["segments"][0]["text"] == "(forgotten) and Nora both lean back."


def test_recognised_words_go_with_what_was_heard_for_them() -> None:
    spoken = ["Mara", "Lind,", "chin", "down.", "Good", "morro."]
    words = tuple(Word(w, i * 100, i * 100 + 90, 0.9, "Mara" if w == "morro." else None) for i, w in enumerate(spoken))
    said = Transcript((Segment(0, 600, " ".join(spoken), words),), model="test")

    (left,) = redact_transcript(transcript_json(said), MARA, gone=["chin down."], kept=[])["segments"]

    assert [(w["word"], w["start"], w["end"]) for w in left["words"]] == [
        ("(forgotten).", 0.0, 0.39),
        ("Good", 0.4, 0.49),
        ("(forgotten).", 0.5, 0.59),
    ]
    assert all(w["heard"] is None for w in left["words"])


@given(st.lists(st.sampled_from(["Mara", "mo", "Lind", "Nora", "hook.", "Mara's", "low", "MO,"]), min_size=1))
def test_no_name_is_left_and_no_segment_is_lost(words: list[str]) -> None:
    said = talk(" ".join(words), "Nora, hook.")

    left = redact_transcript(transcript_json(said), names_pattern(["Mara Lind", "Mo"], ["Nora"]), [], [])

    text = " ".join(s["text"] for s in left["segments"]).lower().replace("(forgotten)", "")
    assert len(left["segments"]) == 2
    assert not {"mara", "mo", "lind"} & set(text.replace("'s", "").replace(",", "").split())
    assert "nora, hook." in text
