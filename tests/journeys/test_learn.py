"""`learn` as a coach uses it."""

import json
from pathlib import Path

import pytest
from pigeons import NEW, SAID


def review(path: Path, said: str) -> Path:
    path.write_text(f"WEBVTT\n\n00:00:12.000 --> 00:00:15.000\n{said}\n")
    return path


def faults(tapeside) -> dict[str, list[str]]:
    """Ids of Mara's faults by recording."""
    tapeside("export", "--out", "all.json")
    return {o["recording"]: o for o in json.loads(Path("all.json").read_text())["observations"]}


@pytest.fixture
def corrected(tapeside, sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Seven reviews whose picture was amended to one fault, and one with it that nobody has touched."""
    monkeypatch.chdir(tmp_path)
    paths = [review(tmp_path / f"review-{i}.vtt", said) for i, said in enumerate((*SAID[:7], NEW))]
    tapeside("add", *paths, "--sheet", sheet)
    kept = faults(tapeside)
    ids = [kept[path.name]["id"] for path in paths[:-1]]
    assert tapeside("correct", ",".join(ids), "amended", "fault=switching-off").code == 0


def test_learning_changes_the_log_only_when_it_is_read_again(tapeside, corrected: None) -> None:
    before = faults(tapeside)["review-7.vtt"]["faults"]

    done = tapeside("learn")
    assert done.code == 0, done.out + done.err
    assert "0 kept, 7 amended, 0 struck, in 7 recordings" in done.out
    assert "of 7" in done.out and "taken" in done.out and "tapeside reread" in done.out
    assert faults(tapeside)["review-7.vtt"]["faults"] == before != ["switching-off"]

    assert tapeside("reread", "--yes").code == 0
    assert faults(tapeside)["review-7.vtt"]["faults"] == ["switching-off"]

    assert "as it comes" in tapeside("learn", "--undo").out
    tapeside("reread", "--yes")
    assert faults(tapeside)["review-7.vtt"]["faults"] == before
    again = tapeside("learn", "--undo")
    assert again.code == 2 and "Nothing is learned" in again.err


def test_learning_as_data(tapeside, corrected: None) -> None:
    done = tapeside("learn", "--json")

    told = json.loads(done.out)
    assert (told["learned"], told["recordings"], told["verdicts"]["amended"]) == (True, 7, 7)
    fault = next(part for part in told["parts"] if part["part"] == "fault")
    assert fault["taken"] and fault["log_loss_after"] < fault["log_loss_before"]


def test_an_empty_log_has_nothing_to_teach(tapeside) -> None:
    done = tapeside("learn")

    assert done.code == 1 and "too few to learn from" in done.out and "Nothing was learned" in done.out


def test_forgetting_says_that_what_was_learned_goes(
    tapeside, corrected: None, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("notes.archive.leftovers.cache_folder", lambda: tmp_path / "cache")
    tapeside("learn")
    assert (home / "club.npz").exists()

    done = tapeside("forget", "Mara", "--yes")
    assert "What the second reader had learned went too" in done.out
    assert not (home / "club.npz").exists()
