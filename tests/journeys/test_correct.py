"""`correct` and `reread` as a coach uses them."""

import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

Tapeside = Callable[..., "object"]

NAKED = """\
- id: naked-kick
  sort: fault
  means: kick with nothing in front
  say: ["kick .. nothing in front"]
  hits: ["you kicked with nothing in front"]
  misses: ["a foot sweep"]
"""


@pytest.fixture
def added(tapeside, sheet: Path, talk: Path) -> dict[str, str]:
    """Ids of a kept review by fault or technique."""
    tapeside("add", talk, "--sheet", sheet)
    lines = json.loads(tapeside("log", "Mara", "--json").out)["lines"]
    return {line["key"]: line["observations"][0]["id"] for line in lines}


def verdicts(tapeside) -> dict[str, str | None]:
    lines = json.loads(tapeside("log", "Mara", "--json").out)["lines"]
    return {line["key"]: line["observations"][0]["verdict"] for line in lines}


def test_a_word_shows_in_log_search_and_critique(tapeside, added: dict[str, str], tmp_path: Path) -> None:
    done = tapeside("correct", added["no-setup"][:6], "struck", "--why", "it was set up")
    assert done.code == 0 and f"{added['no-setup']}: struck: Mara, fault no-setup" in done.out
    assert tapeside("correct", added["head-on-centreline"], "amended", "fault=chin-up", "footage=0:14").code == 0
    assert tapeside("correct", added["push-kick"], "kept", "--by", "Zora").code == 0

    assert verdicts(tapeside) == {"chin-up": "amended", "push-kick": "kept"}
    (found,) = json.loads(tapeside("search", "chin up", "--json").out)["results"]
    assert found["observation"]["verdict"] == "amended" and found["observation"]["footage"] == 14.0
    out = tmp_path / "mara.md"
    tapeside("critique", "Mara", "--out", out)
    assert "Chin up" in out.read_text() and "nothing in front" not in out.read_text()


def test_history_names_who_when_and_why_and_undo_goes_back(tapeside, added: dict[str, str]) -> None:
    wanted = added["no-setup"]
    assert "nobody has corrected it" in tapeside("correct", wanted, "--history").out
    tapeside("correct", wanted, "struck", "--why", "it was set up")
    tapeside("correct", wanted, "amended", "round=1", "--by", "Zora")

    told = tapeside("correct", wanted, "--history").out
    assert "read as Mara, fault no-setup" in told
    assert "Imre: struck  (it was set up)" in told and "Zora: amended: round 1" in told
    assert f"{wanted}: struck" in tapeside("correct", wanted, "--undo").out
    assert f"{wanted}: as read" in tapeside("correct", wanted, "--undo").out
    assert tapeside("correct", wanted, "--undo").code == 2
    states = [v["state"] for v in json.loads(tapeside("correct", wanted, "--history", "--json").out)[wanted]]
    assert states == ["struck", "amended", "undone", "undone"]


def test_a_wrong_correction_changes_nothing(tapeside, added: dict[str, str]) -> None:
    before = tapeside("log", "Mara", "--json").out
    wanted = added["no-setup"]
    for words in (
        ("nothing", "kept"),
        ("", "kept"),
        (f"{wanted},nothing", "struck"),
        (wanted, "amended"),
        (wanted, "amended", "fault=chinup"),
        (wanted, "amended", "athlete=Marra"),
        (wanted, "kept", "fault=chin-up"),
        (wanted, "keep"),
        (wanted,),
        (wanted, "kept", "--undo"),
    ):
        done = tapeside("correct", *words)
        assert done.code == 2, words

    assert tapeside("log", "Mara", "--json").out == before


def test_reread_shows_what_changes_asks_and_loses_no_word(
    tapeside, added: dict[str, str], home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Nothing would change." in tapeside("reread").out
    tapeside("correct", added["head-on-centreline"], "struck")
    (home / "lexicon.yaml").write_text(NAKED)
    before = tapeside("log", "Mara", "--json").out

    monkeypatch.setattr("sys.stdin", io.StringIO("n\n"))
    asked = tapeside("reread", "2031-03-14")
    assert "fault no-setup → naked-kick" in asked.out and "0 new, 0 gone, 1 changed" in asked.out
    assert tapeside("log", "Mara", "--json").out == before, "answered no"

    done = tapeside("reread", "review.vtt", "--yes")
    assert done.code == 0 and "1 recording read again." in done.out
    assert set(verdicts(tapeside)) == {"naked-kick", "push-kick"}
    assert "Nothing would change." in tapeside("reread", "--yes").out


def test_a_corrected_note_stays_as_it_was_left(tapeside, added: dict[str, str], home: Path) -> None:
    tapeside("correct", added["no-setup"], "amended", "round=1")
    (home / "lexicon.yaml").write_text(NAKED)

    tapeside("reread", "--yes")

    lines = {line["key"]: line for line in json.loads(tapeside("log", "Mara", "--json").out)["lines"]}
    assert "naked-kick" not in lines
    assert lines["no-setup"]["observations"][0]["round"] == 1


def test_a_session_that_is_not_there_is_said(tapeside, added: dict[str, str]) -> None:
    done = tapeside("reread", "2031-03-15", "--yes")

    assert done.code == 2 and 'No session "2031-03-15"' in done.err
