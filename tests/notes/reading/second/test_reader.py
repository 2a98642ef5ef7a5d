from pathlib import Path

import numpy as np
import pytest
from gold import CORPUS, read_gold
from reviews import sheet, talk

import lexicon
from lexicon.entries import Entry
from notes.reading.observations import read_review
from notes.reading.second import reader as module
from notes.reading.second.corpus import nearest
from notes.reading.second.reader import KINDS, SecondReader, second_reader
from notes.reading.talk import read_talk

FAULT = KINDS.index("fault")


def judge(second: SecondReader, vocabulary: lexicon.Lexicon, *said: str) -> module.Judgement:
    facts = sheet()
    return second.judge(read_talk(talk(*said), vocabulary, facts.names), facts)


def best(ids: tuple[str, ...], chances: np.ndarray) -> str:
    return ids[int(chances.argmax())]


def test_a_picture_that_no_pattern_knows_is_read(vocabulary: lexicon.Lexicon, second: SecondReader) -> None:
    said = "You've left your nose in his letterbox while you throw that cross."

    assert not [
        o for o in read_review(talk(said), sheet(), vocabulary).observations if o.faults == ("head-on-centreline",)
    ]
    (found,) = read_review(talk(said), sheet(), vocabulary, second).observations
    assert (found.kind, found.faults, found.techniques) == ("fault", ("head-on-centreline",), ("cross",))


def test_praise_chat_and_faults_are_told_apart(vocabulary: lexicon.Lexicon, second: SecondReader) -> None:
    judged = judge(
        second, vocabulary, "Morning Mara, let me find the remote.", "Lovely jab.", "Your chin's up in the air."
    )

    assert judged.begins[0].max() < 0.3
    assert best(KINDS, judged.begins[1]) == "strength"
    assert best(KINDS, judged.begins[2]) == "fault"
    assert best(second.ids["fault"], judged.faults[2]) == "chin-up"


def test_chances_are_chances(vocabulary: lexicon.Lexicon, second: SecondReader) -> None:
    gold = read_gold(CORPUS / "work" / "amber-01.gold.yaml")
    told = read_talk(gold.transcript, vocabulary, gold.sheet.names)
    judged = second.judge(told, gold.sheet)

    assert judged.begins.shape == (len(told.sentences), len(KINDS))
    assert np.allclose(np.exp(judged.faults).sum(-1), 1, atol=1e-4)
    assert np.allclose(np.exp(judged.techniques).sum(-1), 1, atol=1e-4)
    for chances in (judged.begins, judged.goes_on, judged.again, judged.fixes):
        assert ((chances >= 0) & (chances <= 1)).all()


def test_a_sentence_longer_than_a_window_is_judged(vocabulary: lexicon.Lexicon, second: SecondReader) -> None:
    assert judge(second, vocabulary, "and then the hand came down " * 200).begins.shape[1] == len(KINDS)


def test_a_new_id_works_without_training(vocabulary: lexicon.Lexicon) -> None:
    entry = Entry(
        id="mouthguard-out",
        sort="fault",
        means="spits or chews the mouthguard",
        say=("spit mouthguard",),
        hits=(
            "you spit your mouthguard out",
            "you're chewing on that gumshield again",
            "your mouthpiece is hanging out",
        ),
        misses=("he spits",),
    )
    wider = lexicon.Lexicon(
        {**vocabulary.entries, entry.id: entry}, vocabulary.cues, vocabulary.classes, vocabulary.terms
    )
    second = second_reader(wider)
    assert second

    judged = judge(second, wider, "Get that gumshield back between your teeth.", "Your chin's up in the air.")

    assert best(second.ids["fault"], judged.faults[0]) == "mouthguard-out"
    assert best(second.ids["fault"], judged.faults[1]) == "chin-up"


def test_the_corpus_speaks_for_a_judgement(vocabulary: lexicon.Lexicon, second: SecondReader) -> None:
    judged = judge(second, vocabulary, "Your chin's up in the air.")

    alike = nearest("fault", judged.about(0, FAULT))
    assert len(alike) == 3
    assert "chin-up" in alike[0].label
    assert 1.01 > alike[0].likeness >= alike[1].likeness


def test_without_weights_there_is_no_second_reader(
    vocabulary: lexicon.Lexicon, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(module, "_MODEL", tmp_path)

    assert second_reader(vocabulary) is None
