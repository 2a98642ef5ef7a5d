from pathlib import Path

import pytest

from lexicon import LexiconError, load
from lexicon.misheard import Mishearing, read_mishearings, shipped_mishearings, teach
from lexicon.own import add_entry


def test_no_shipped_mishearing_is_given_twice_or_leads_to_another() -> None:
    heard = [m.heard for m in shipped_mishearings()]

    assert len(heard) == len(set(heard))
    assert not {m.said for m in shipped_mishearings()} & set(heard)


def test_what_is_taught_is_kept_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "home" / "misheard.yaml"

    assert teach(path, "Tip", "teep") is None
    assert teach(path, "wizard", "whizzer") is None
    assert teach(path, "tip", "tepee") == Mishearing("tip", "teep")

    assert read_mishearings(path) == (Mishearing("wizard", "whizzer"), Mishearing("tip", "tepee"))


@pytest.mark.parametrize(
    ("wrong", "right", "reason"),
    [
        ("tip", "tip", "the same"),
        ("the", "teep", "too common"),
        ("", "teep", "one to four words"),
        ("tip", "t33p", "one to four words"),
        ("a b c d e", "teep", "one to four words"),
    ],
)
def test_nonsense_is_refused_and_nothing_written(tmp_path: Path, wrong: str, right: str, reason: str) -> None:
    path = tmp_path / "misheard.yaml"

    with pytest.raises(LexiconError, match=reason):
        teach(path, wrong, right)

    assert not path.exists()


def test_a_mishearing_and_its_reverse_cannot_both_stand(tmp_path: Path) -> None:
    teach(tmp_path / "m.yaml", "tip", "teep")

    with pytest.raises(LexiconError, match="already taken"):
        teach(tmp_path / "m.yaml", "teep", "tip")


def test_a_wrong_file_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "misheard.yaml"
    path.write_text("- heard: [tip]\n  said: teep\n- hard: x\n")

    with pytest.raises(LexiconError, match=r"misheard\.yaml:3: a mishearing is"):
        read_mishearings(path)


def test_an_added_entry_is_read_and_what_stood_there_stays(tmp_path: Path) -> None:
    path = tmp_path / "lexicon.yaml"
    path.write_text("# ours\n- id: chin-up\n  extends: true\n  say: [kite flying]\n")

    add_entry(path, {"id": "foot-drag", "sort": "fault", "means": "foot drags", "say": ["drag foot"],
                     "hits": ["you're dragging that foot"], "misses": ["a foot sweep"]})  # fmt: skip

    assert path.read_text().startswith("# ours\n- id: chin-up")
    assert load(path).entries["foot-drag"].means == "foot drags"


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        ({"id": "foot-drag", "sort": "fault", "say": ["drag foot"]}, 'lacks "means"'),
        ({"id": "chin-up", "say": ["kite"]}, "is in the lexicon already"),
        ({"id": "foot-drag", "sort": "fault", "means": "x", "say": ["drag foot"], "hits": ["hands down"], "misses": ["y"]},
         "not found in its own example"),
        ({"id": "chin-up", "extends": True, "say": ["@nosuch"]}, "unknown class"),
    ],
)  # fmt: skip
def test_a_wrong_entry_is_refused_and_nothing_written(tmp_path: Path, entry: dict[str, object], reason: str) -> None:
    path = tmp_path / "lexicon.yaml"

    with pytest.raises(LexiconError, match=reason):
        add_entry(path, entry)

    assert not path.exists()
