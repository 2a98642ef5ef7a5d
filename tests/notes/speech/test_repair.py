"""Repair by sound. The examples are invented."""

from dataclasses import replace

import pytest

from lexicon.misheard import Mishearing, shipped_mishearings
from notes.model import Segment, Transcript, Word
from notes.speech.repair import has_unsure_term, heard_by_club, repaired, tells_of_fighting, undone
from notes.speech.terms import TradeWords

TRADE = TradeWords(
    ("teep", "whizzer", "southpaw", "feint", "kimura", "low kick", "underhook", "roundhouse"),
    ("Torvald", "Mara"),
    (),
    shipped_mishearings(),
)
COMMON = frozenset(
    "the he she you a an and to of his her with it that was now good off in under hook round house tip faint wizard her"
    " at felt looked so when throws he's gone from him or went over look after jab kick clinch punch hook looked".split()
)


def said(text: str) -> Segment:
    words = tuple(Word(word, i * 300, i * 300 + 250, 0.9) for i, word in enumerate(text.split()))
    return Segment(0, len(words) * 300, text, words)


def repair(*texts: str) -> list[Segment]:
    return repaired([said(text) for text in texts], TRADE, COMMON.__contains__)


def text_of(*texts: str) -> str:
    return " ".join(s.text for s in repair(*texts))


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("the jab, then a tip to his body", "the jab, then a teep to his body"),
        ("a good teap after the jab, low kick.", "a good teep after the jab, low kick."),
        ("the faint, then a punch and a low kick", "the feint, then a punch and a low kick"),
        ("he's gone southport, watch the jab and the kick", "he's gone southpaw, watch the jab and the kick"),
        ("Tips and jabs, then the low kick", "Teeps and jabs, then the low kick"),
        ("a kimora after the takedown, in the clinch", "a kimura after the takedown, in the clinch"),
        ("the under hook, then a punch in the clinch", "the underhook, then a punch in the clinch"),
        ("and Torvalt throws the jab and the low kick", "and Torvald throws the jab and the low kick"),
    ],
)
def test_what_sounds_like_a_term_is_put_right_in_talk_of_fighting(heard: str, meant: str) -> None:
    assert text_of(heard) == meant


@pytest.mark.parametrize(
    "text",
    [
        "here's a tip, put the jam on first",
        "she felt faint this morning, and she slept badly",
        "after that punch and the head kick he felt faint",
        "the jab, then the kick, you looked faint",
        "give him a tip of the hat after the jab and the kick",
        "the under, hook and punch off the clinch",
        "my coat is on the hook across the hall",
        "if you threw a jab or an elbow off that clinch I'd faint",
    ],
)
def test_nothing_is_changed_otherwise(text: str) -> None:
    assert text_of(text) == text


def test_signs_of_a_fight_may_stand_in_the_sentence_before() -> None:
    assert text_of("The jab lands, then the low kick.", "And a tip.") == "The jab lands, then the low kick. And a teep."


def test_every_repair_is_recorded_and_can_be_undone() -> None:
    before = said("The jab, then a tip. And the under hook in the clinch.")
    (after,) = repaired([before], TRADE, COMMON.__contains__)

    assert [(w.text, w.heard) for w in after.words if w.heard is not None] == [
        ("teep.", "tip."),
        ("underhook", "under hook"),
    ]
    assert after.words[-4].start_ms == 2100
    assert undone(after).text == before.text


def test_a_term_of_two_words_for_one_keeps_its_time_and_is_undone() -> None:
    club = (Mishearing("loki", "low kick"),)
    before = said("the jab, the Loki, and a punch in the clinch")
    (after,) = repaired([before], TradeWords(("low kick",), (), club), COMMON.__contains__)

    assert after.text == "the jab, the Low kick, and a punch in the clinch"
    assert [w.heard for w in after.words[3:5]] == ["Loki,", ""]
    assert (after.words[3].start_ms, after.words[4].end_ms) == (900, 1150)
    assert undone(after) == before


def test_the_clubs_mishearings_mend_an_old_transcript_and_its_captions() -> None:
    club = (Mishearing("cheap", "teep"),)
    timed = Transcript((said("the jab, then the cheap, then a low kick"),), model="base")
    captions = Transcript((Segment(0, 900, "the jab, then the cheap, then a low kick"),), model="vtt")

    mended = heard_by_club(timed, club).segments[0]

    assert mended.text == "the jab, then the teep, then a low kick"
    assert mended.words[4].heard == "cheap,"
    assert heard_by_club(captions, club).segments == (Segment(0, 900, "the jab, then the teep, then a low kick"),)
    assert heard_by_club(timed, ()) is timed


@pytest.mark.parametrize(
    ("text", "fight"),
    [
        ("a jab and then the clinch", True),
        ("he lands the low kick", True),
        ("she felt faint by the jab of the needle", False),
        ("the road was low, and the counter was closed", False),
    ],
)
def test_two_signs_tell_talk_of_fighting(text: str, fight: bool) -> None:
    """A term of several words, such as low kick, is a sign beside the word kick itself."""
    assert tells_of_fighting(said(text).words, TRADE) is fight


def test_a_term_is_unsure_by_its_own_probability() -> None:
    sure = said("then a feint to his left").words
    unsure = tuple(replace(word, probability=0.4) if word.text == "feint" else word for word in sure)

    assert has_unsure_term(unsure, TRADE)
    assert not has_unsure_term(sure, TRADE)
