"""A season of one athlete: log, progress and plot, as a coach would ask for them."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

SHEET = """\
sport: kickboxing
date: {day}
athletes: [{{name: Mara, aliases: [Mo], stance: orthodox}}]
opponent: {{name: Devon}}
rounds: {{length: 180, rest: 60, first_starts_at: 0}}
"""
HEAD = "Devon lands because your head stayed on the tramlines. Get your head off the line."
KICK = "You kicked with nothing in front of it, that low kick."
GOOD = "Lovely long teep."


def review(path: Path, said: list[str]) -> Path:
    cues = [f"00:0{i}:20.000 --> 00:0{i}:25.000\n{text}" for i, text in enumerate(said)]
    path.write_text("\n\n".join(["WEBVTT", *cues, f"00:10:50.000 --> 00:11:00.000\nThat is {path.stem}."]) + "\n")
    return path


@pytest.fixture
def season(tapeside, tmp_path: Path):
    """Six sessions of three rounds; the head is on the line often in the first three, never after."""
    for number, said in enumerate([[HEAD] * 3 + [KICK], [HEAD] * 3, [HEAD] * 3, [GOOD, KICK], [GOOD], [KICK, GOOD]]):
        sheet = tmp_path / f"{number}.yaml"
        sheet.write_text(SHEET.format(day=f"2031-0{number + 1}-07"))
        done = tapeside("add", review(tmp_path / f"{number}.vtt", said), "--sheet", sheet, "--first-reader-only")
        assert done.code == 0
    return tapeside


def test_the_log_tells_what_was_watched_and_what_came_after_a_fix(season) -> None:
    told = season("log", "Mara", "--kind", "fault").out

    assert "6 sessions, 2031-01-07 to 2031-06-07; 18 rounds watched" in told
    assert "head-on-centreline" in told and "last 2031-03-07 (9 rounds ago), quiet" in told
    assert "fix: head-off-line, given on 3 days, 2031-01-07 to 2031-03-07; in 15 rounds since the first: seen" in told
    assert "in 9 rounds since the last: seen 0x" in told


def test_progress_claims_what_changed_and_warns(season) -> None:
    done = season("progress", "mo")

    assert done.code == 0
    assert "Older half: 9 rounds until 2031-03-07. Newer half: 9 rounds from 2031-04-07." in done.out
    assert ": less often" in done.out and "|···" in done.out
    assert "Too few notes to compare: no-setup 3x." in done.out
    assert "regression to the mean" in done.out.replace("\n", " ")


def test_progress_as_json_holds_every_figure(season) -> None:
    data = json.loads(season("progress", "Mara", "--fault", "head-on-centreline", "--json").out)

    assert (data["watched"]["unit"], data["watched"]["total"], data["newer_half_from"]) == ("round", 18, "2031-04-07")
    (fault,) = data["faults"]
    assert fault["verdict"] == "less often"
    assert sum(fault["counts"]) == fault["rate"]["notes"] == fault["change"]["older"]["notes"]
    assert fault["change"]["newer"]["notes"] == 0 and fault["change"]["ratio"] == 0
    assert fault["change"]["p"] < 0.05


def test_the_plot_has_a_panel_a_fault_and_is_the_same_each_time(season, tmp_path: Path) -> None:
    for name in ("one.svg", "two.svg", "three.png"):
        assert season("progress", "Mara", "--plot", tmp_path / name).code == 0

    one = (tmp_path / "one.svg").read_bytes()
    texts = {
        "".join(e.itertext()).strip() for e in ElementTree.fromstring(one).iter("{http://www.w3.org/2000/svg}text")
    }
    assert {"head-on-centreline: less often", "no-setup: too few notes", "Mara: 18 rounds watched"} <= texts
    assert one == (tmp_path / "two.svg").read_bytes()
    assert (tmp_path / "three.png").read_bytes().startswith(b"\x89PNG")


def test_what_cannot_be_told_is_said_in_a_sentence(season, tmp_path: Path) -> None:
    assert season("progress", "Mara", "--fault", "xyz").code == 1
    assert season("progress", "Mara", "--plot", tmp_path / "plot.gif").code == 2
    nowhere = season("progress", "Mara", "--plot", tmp_path / "no" / "plot.svg")
    assert nowhere.code == 2 and "Cannot write" in nowhere.err
    assert season("progress", "Nobody").code == 2


def test_text_without_times_gives_no_rates(tapeside, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(SHEET.format(day="2031-01-07"))
    text = tmp_path / "talk.txt"
    text.write_text(KICK)
    tapeside("add", text, "--sheet", sheet, "--first-reader-only")

    done = tapeside("progress", "Mara")

    assert done.code == 1 and "how much was watched is unknown" in done.out
    assert "no-setup" in tapeside("log", "Mara").out
