from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes.errors import BadSheet
from notes.sheet import parse_sheet, read_sheet

GOOD = """\
sport: mma
date: 2031-03-14
coach: {name: Imre}
athletes:
  - {name: Mara, aliases: [Mo], stance: orthodox, junior: no}
opponent: {name: Devon, aliases: []}
rounds: {length: 180, rest: 60, first_starts_at: 5}
narration: live
clock: video
footage: sparring.mp4
"""


def test_a_whole_sheet_is_read() -> None:
    sheet = parse_sheet(GOOD, "s.yaml")

    assert sheet.athletes[0].names == ("Mara", "Mo")
    assert sheet.athletes[0].junior is False
    assert sheet.round_clock is not None and sheet.round_clock.start(2) == 245_000
    assert sheet.as_json()["date"] == "2031-03-14"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "the sheet is empty"),
        ("just words", "s.yaml:1: a sheet is a list of keys"),
        ("sport: [", "s.yaml:[12]: not valid YAML"),
        (
            GOOD.replace("athletes:", "athlets:"),
            r's.yaml:4: unknown key "athlets"; did you mean "athletes"\?.*correct:',
        ),
        (GOOD.replace("stance:", "stanc:"), 'unknown key "stanc"; did you mean "stance"'),
        (GOOD.replace("sport: mma", "sport: judo"), 's.yaml:1: "sport" must be .*not "judo"'),
        (GOOD.replace("sport: mma\n", ""), 'key "sport" is missing'),
        (GOOD.replace("length: 180", "length: -3"), 's.yaml:7: "length" must be greater than 0'),
        (GOOD.replace("rest: 60", "rest: -1"), '"rest" must be greater than or equal to 0'),
        (GOOD.replace("length: 180", "length: nan"), '"length" must be a finite number'),
        (GOOD.replace("[Mo]", "[mara]"), 'the name or alias "mara" stands twice'),
        (GOOD.replace("name: Devon", "name: Mara"), 'the name or alias "Mara" stands twice'),
        (GOOD.replace("2031-03-14", "yesterday"), '"date" must be a valid date'),
        (GOOD.replace("date: 2031-03-14", "date: 2031-03-14\nsport: mma"), 'key "sport" stands twice'),
        ("sport: mma\nathletes: []", '"athletes" must be a list with at least one entry'),
        ("sport: mma\nathletes: {name: Mara}", '"athletes" must be a list'),
        ("sport: mma\nathletes: [Mara]", "must be a group of keys"),
        ("sport: mma\nathletes: [{name: ''}]", '"name"'),
        ("a: &x [*x]", "s.yaml"),
        (GOOD + "not_coach: [[70, 61.5]]", r"s.yaml:11: the stretch \[70.0, 61.5\] must end after it starts.*correct:"),
        (GOOD + "not_coach: [[1, 2], [3]]", r's.yaml:11: "not_coach".*correct: not_coach: \[\[61.5, 70\]'),
        (GOOD + "not_coach: [[-1, 2]]", r's.yaml:11: "not_coach" must be greater than or equal to 0'),
    ],
)
def test_a_wrong_sheet_is_refused_in_one_sentence(text: str, told: str) -> None:
    with pytest.raises(BadSheet, match=told) as caught:
        parse_sheet(text, "s.yaml")

    assert "\n" not in str(caught.value)


def test_stretches_of_others_are_read_in_ms() -> None:
    sheet = parse_sheet(GOOD + "not_coach: [[61.5, 70], [102, 110]]", "s.yaml")

    assert sheet.not_coach_ms == ((61_500, 70_000), (102_000, 110_000))


def test_a_missing_sheet_a_folder_and_a_picture_are_refused(tmp_path: Path) -> None:
    picture = tmp_path / "sheet.png"
    picture.write_bytes(b"\x89PNG\xff\xfe")

    for path, told in (
        (tmp_path / "none.yaml", "No sheet at"),
        (tmp_path, "is a folder"),
        (picture, "not a text file"),
    ):
        with pytest.raises(BadSheet, match=told):
            read_sheet(path)


@given(st.text(max_size=200))
def test_any_text_is_a_sheet_or_a_clear_refusal(text: str) -> None:
    try:
        parse_sheet(text, "s.yaml")
    except BadSheet as error:
        assert str(error).startswith("s.yaml")
