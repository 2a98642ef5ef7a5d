from pathlib import Path

import pytest

from lexicon import LexiconError, load
from lexicon.entries import Entry
from lexicon.files import read_entries
from lexicon.tokens import tokenize

ENTRY = """\
- id: foot-drag
  sort: fault
  means: back foot drags
  say: ["drag foot"]
  hits: ["you drag the foot"]
  misses: ["a foot sweep"]
"""


def own(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "lexicon.yaml"
    path.write_text(text)
    return path


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (ENTRY.replace("hits:", "hit:"), r"faults/x.yaml:5: unknown key \"hit\".*did you mean \"hits\""),
        (ENTRY.replace("  means: back foot drags\n", ""), r'faults/x.yaml:1: .*lacks the key "means"'),
        (ENTRY + ENTRY, r'faults/x.yaml:7: id "foot-drag" stands twice'),
        (ENTRY + "  hits: [again]\n", r'faults/x.yaml:7: key "hits" stands twice'),
        ("- id: [", r"faults/x.yaml:[12]: not valid YAML"),
        ("id: foot-drag", r"a vocabulary file is a list"),
    ],
)
def test_a_wrong_file_is_refused_by_line(text: str, told: str) -> None:
    with pytest.raises(LexiconError, match=told):
        read_entries({"faults/x.yaml": text})


def test_yaml_traps_stay_text() -> None:
    """YAML 1.1 would read these as False, True, 90 and 8 (tried with PyYAML 6)."""
    text = ENTRY.replace('["drag foot"]', "[no, on, 1:30, 010]")

    assert read_entries({"faults/x.yaml": text})["foot-drag"].say == ("no", "on", "1:30", "010")


def test_an_own_entry_is_found(tmp_path: Path) -> None:
    lexicon = load(own(tmp_path, ENTRY))
    tokens = tokenize("you are dragging that foot")

    assert "foot-drag" in [h.id for h in lexicon.find_entries(tokens, 0, len(tokens))]


def test_an_own_entry_extends_a_shipped_one(tmp_path: Path) -> None:
    lexicon = load(own(tmp_path, '- {id: chin-up, extends: true, say: ["flying the kite"]}'))
    tokens = tokenize("you are flying the kite")

    assert [h.id for h in lexicon.find_entries(tokens, 0, len(tokens))] == ["chin-up"]
    assert isinstance(lexicon.entries["chin-up"], Entry)


def test_an_own_entry_changes_the_fingerprint(tmp_path: Path) -> None:
    assert load(own(tmp_path, ENTRY)).sha256 != load().sha256


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("- {id: chin-up, say: [x]}", r"lexicon.yaml:1: .*in the lexicon already"),
        ("- {id: unheard-of, extends: true}", "nothing in the lexicon is called"),
        ("- {id: new-one, say: [x]}", 'lacks "sort"'),
        (ENTRY.replace("drag foot", "drag {foot}"), "cannot be read"),
        (ENTRY + "  fixes: [nothing-such]\n", '"nothing-such" under fixes is no fix'),
    ],
)
def test_a_wrong_own_entry_is_refused(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(LexiconError, match=told):
        load(own(tmp_path, text))
