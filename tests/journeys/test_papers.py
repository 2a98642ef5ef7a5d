"""Critique, plan and squad sheet, command by command."""

import json
import shutil
from pathlib import Path

import pytest

SECOND = "WEBVTT\n\n00:00:12.000 --> 00:00:15.000\nYour head is on the centreline again.\n"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the first test leaves its home for the others."""
    return tmp_path_factory.mktemp("made") / "home"


@pytest.fixture
def log(tapeside, sheet: Path, talk: Path, tmp_path: Path, home: Path, made: Path) -> None:
    """Two sessions of Mara, one of Teo."""
    if made.exists():
        shutil.copytree(made, home)
        return
    tapeside("add", talk, "--sheet", sheet, "--first-reader-only")
    for name, day, who in (("second", "2031-03-21", "name: Mara"), ("third", "2031-03-22", "name: Teo")):
        later = tmp_path / f"{name}.yaml"
        later.write_text(sheet.read_text().replace("2031-03-14", day).replace("name: Mara, aliases: [Mo]", who))
        (tmp_path / f"{name}.vtt").write_text(f"{SECOND}\nNOTE {name}\n")
        assert tapeside("add", tmp_path / f"{name}.vtt", "--sheet", later, "--first-reader-only").code == 0
    shutil.copytree(home, made)


@pytest.mark.parametrize("ending", ["md", "html", "pdf", "docx"])
def test_a_critique_is_written_in_each_form(tapeside, log: None, tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"mara.{ending}"

    done = tapeside("critique", "mo", "--out", out)

    assert done.code == 0 and "2031-03-21" in done.out and out.stat().st_size > 500


def test_a_critique_of_an_older_session_or_of_a_span(tapeside, log: None, tmp_path: Path) -> None:
    one, span = tmp_path / "one.md", tmp_path / "span.md"

    assert tapeside("critique", "Mara", "--session", "2031-03-14", "--out", one).code == 0
    assert tapeside("critique", "Mara", "--since", "2031-03-01", "--out", span).code == 0
    assert "Seen:** once" in one.read_text() and "earlier session" not in one.read_text()
    assert "Seen:** twice" in span.read_text() and "14 March 2031 to 21 March 2031" in span.read_text()


def test_edits_survive_and_go_into_other_forms(tapeside, log: None, tmp_path: Path) -> None:
    out, page = tmp_path / "mara.md", tmp_path / "mara.html"
    tapeside("critique", "Mara", "--out", out)
    out.write_text(out.read_text().replace("Let their punch pass", "Mara: let it sail past"))

    again = tapeside("critique", "Mara", "--out", out)
    other = tapeside("critique", "Mara", "--edited", out, "--out", page)

    assert "Kept as you changed them: point-head-on-centreline" in again.out and again.out.count("\n") == 2
    assert other.code == 0 and "Mara: let it sail past" in page.read_text()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("critique", "Mara", "--out", "mara.txt"), "must end in .md, .html, .pdf, .docx"),
        (("critique", "Mara", "--session", "2031-03-14", "--since", "2031-03-14", "--out", "m.md"), "either --session"),
        (("critique", "Mara", "--edited", "missing.md", "--out", "m.pdf"), "missing.md"),
        (("critique", "Marra", "--out", "m.pdf"), 'did you mean "Mara"'),
        (("critique", "Mara", "--out", "no/such/folder/m.pdf"), "Cannot write"),
        (("plan", "Mara", "--out", "plan.png"), "must end in"),
        (("squad", "--out", "wall"), "must end in"),
    ],
)
def test_bad_input_is_one_sentence(tapeside, log: None, words: tuple[str, ...], says: str) -> None:
    done = tapeside(*words)

    assert done.code == 2 and says in done.err


def test_nothing_to_say_is_told(tapeside, log: None, tmp_path: Path) -> None:
    out = tmp_path / "m.md"

    assert tapeside("critique", "Mara", "--session", "2030-01-01", "--out", out).code == 1 and not out.exists()
    assert tapeside("squad", "--until", "2030-01-01").code == 1


def test_a_plan_is_printed_written_and_given_as_json(tapeside, log: None, tmp_path: Path) -> None:
    printed = tapeside("plan", "Mara")
    data = json.loads(tapeside("plan", "Mara", "--json").out)

    assert "## Head off line, against head on centreline" in printed.out
    assert data["themes"][0]["fix"] == "head-off-line" and data["no_contact"] is False
    assert (
        tapeside("plan", "Mara", "--out", tmp_path / "p.pdf").code == 0
        and (tmp_path / "p.pdf").read_bytes()[:4] == b"%PDF"
    )


def test_the_squad_sheet_shares_faults_and_hides_names(tapeside, log: None, tmp_path: Path) -> None:
    printed = tapeside("squad")
    data = json.loads(tapeside("squad", "--json").out)

    assert "M and T" in printed.out and "Mara" not in printed.out
    assert data["shared"][0]["fault"] == "head-on-centreline" and data["shared"][0]["athletes"] == ["Mara", "Teo"]
    assert "Mara and Teo" in tapeside("squad", "--names").out
    assert tapeside("squad", "--since", "2031-03-22", "--out", tmp_path / "wall.html").code == 0
    assert "1 athlete:" in (tmp_path / "wall.html").read_text()


def test_a_struck_note_is_in_no_paper(tapeside, log: None, tmp_path: Path) -> None:
    note = next(
        o for line in json.loads(tapeside("log", "Teo", "--json").out)["lines"] for o in line["observations"]
    )  # fmt: skip
    assert tapeside("correct", note["id"], "struck").code == 0

    assert json.loads(tapeside("squad", "--json").out)["shared"] == []
    assert tapeside("plan", "Teo").code == 1
