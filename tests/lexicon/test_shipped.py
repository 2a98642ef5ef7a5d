"""The shipped vocabulary: complete, and true to its own examples."""

from pathlib import Path

import pytest
import yaml

from lexicon import Lexicon, check
from lexicon.tokens import tokenize

REQUIRED = yaml.safe_load((Path(__file__).parent / "required_ids.yaml").read_text())


@pytest.mark.parametrize("sort", ["techniques", "faults", "fixes"])
def test_every_required_id_is_carried(vocabulary: Lexicon, sort: str) -> None:
    name = {"techniques": "technique", "faults": "fault", "fixes": "fix"}[sort]
    carried = {entry.id for entry in vocabulary.of_sort(name)}

    assert set(REQUIRED[sort]) <= carried


def test_every_example_is_read_as_its_entry_says(vocabulary: Lexicon) -> None:
    assert check(vocabulary) == []


def test_every_fault_has_a_fix_with_a_drill(vocabulary: Lexicon) -> None:
    for fault in vocabulary.of_sort("fault"):
        assert any(vocabulary.entries[fix].drills for fix in fault.fixes), fault.id


def test_the_longest_technique_wins(vocabulary: Lexicon) -> None:
    tokens = tokenize("an inside low kick")

    assert [h.id for h in vocabulary.find_entries(tokens, 0, len(tokens))] == ["inside-low-kick"]


def test_case_and_punctuation_change_nothing(vocabulary: Lexicon) -> None:
    said = "You're dropping your right hand, don't lean back."
    ids = []
    for text in (said, said.upper(), said.lower().replace(",", "").replace(".", ""), said.replace("'", "’")):
        tokens = tokenize(text)
        ids.append([h.id for h in vocabulary.find_entries(tokens, 0, len(tokens), "orthodox")])

    assert ids[0] and all(found == ids[0] for found in ids)


def test_an_unknown_word_is_respelt_to_the_vocabulary(vocabulary: Lexicon) -> None:
    tokens, places = vocabulary.respell(tokenize("no underhok there"))

    assert "underhook" in tokens.forms
    assert places


def test_english_words_are_never_respelt(vocabulary: Lexicon) -> None:
    said = "The tip of my sleep was faint, and Perry crossed the jam with a hook of fishing tackle"

    assert vocabulary.respell(tokenize(said))[1] == frozenset()
