"""Teaching the vocabulary from the command line."""

from pathlib import Path

import pytest


def test_a_mishearing_is_taught_and_told(tapeside, home: Path) -> None:
    done = tapeside("lexicon", "hear", "Cheap", "teep")

    assert done.code == 0
    assert '"cheap" becomes "teep"' in done.out and str(home / "misheard.yaml") in done.out
    assert "said: teep" in (home / "misheard.yaml").read_text()
    assert 'Until now it became "teep"' in tapeside("lexicon", "hear", "cheap", "step").out


def test_nonsense_is_refused_in_one_sentence(tapeside, home: Path) -> None:
    done = tapeside("lexicon", "hear", "the", "teep")

    assert done.code == 2
    assert done.err.startswith('tapeside: "the" is too common a word') and done.err.count("\n") == 1
    assert not (home / "misheard.yaml").exists()


def test_words_are_added_to_an_entry_and_read_at_once(tapeside) -> None:
    done = tapeside("lexicon", "add", "chin-up", "--say", "flying the kite", "--hit", "you're flying the kite again")

    assert (done.code, done.out.splitlines()[0][:24]) == (0, 'Extended fault "chin-up"')
    assert "chin-up" in tapeside("lexicon", "explain", "Mara is flying the kite.", "--first-reader-only").out


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        (["foot-drag", "--sort", "fault", "--say", "drag foot"], 'lacks "means"'),
        (["chin-up", "--say", "kite", "--hit", "your hands are low"], "not found in its own example"),
        (["chin-up", "--sort", "fault", "--say", "kite"], "leave out --sort"),
    ],
)
def test_a_wrong_entry_is_refused_and_the_file_stays(tapeside, home: Path, given: list[str], reason: str) -> None:
    done = tapeside("lexicon", "add", *given)

    assert done.code == 2 and reason in done.err
    assert not (home / "lexicon.yaml").exists()
