"""Sound and footage go out in ranges and come in as streams; nothing leaves or enters the home by its name."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from sounds import write_video
from starlette.testclient import TestClient

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.desk.security import Keys
from notes.extract import read
from notes.model import Segment, Transcript
from notes.narrating import find
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json

SHEET = Sheet.model_validate({"sport": "boxing", "athletes": [{"name": "Mara"}], "date": "2031-03-14"})


@pytest.fixture
def footage(tmp_path: Path, home: Path, vocabulary: Lexicon) -> Path:
    """Footage of a review that is in the log."""
    video = write_video(tmp_path / "spärring.mp4", 2, sound=True)
    talk = Transcript((Segment(0, 2_000, "Your chin is up in the air."),), model="test")
    reading = read(talk, SHEET, vocabulary, "talk.vtt", "f" * 64)
    with Archive(home) as archive:
        assert SHEET.day
        archive.add(reading, SHEET, SHEET.day, video, transcript_json(talk), tmp_path / "talk.vtt")
    return video


def test_a_player_gets_the_part_that_it_asks_for(footage: Path, coach: TestClient) -> None:
    """RFC 9110, section 14."""
    whole = footage.read_bytes()
    address = f"/media/{'f' * 64}/footage"

    part = coach.get(address, headers={"range": "bytes=100-199"})
    end = coach.get(address, headers={"range": "bytes=-50"})

    assert (part.status_code, part.content) == (206, whole[100:200])
    assert part.headers["content-range"] == f"bytes 100-199/{len(whole)}"
    assert end.content == whole[-50:]
    assert coach.get(address).content == whole
    assert coach.get(address, headers={"range": f"bytes={len(whole)}-"}).status_code == 416


def test_lost_footage_is_told_on_the_page(footage: Path, coach: TestClient) -> None:
    footage.unlink()

    page = coach.get(f"/reviews/{'f' * 64}")

    assert page.status_code == 200
    assert "not where it was" in page.text and "<video" not in page.text


def test_footage_streams_in_under_a_safe_name(coach: TestClient, keys: Keys, home: Path) -> None:
    ours = {"x-tapeside": keys.change}
    narration = coach.post("/narrations", data={"athletes": "Mara", "sport": "boxing"}, headers=ours).text
    data = bytes(range(256)) * 5_000

    sent = coach.put(
        f"/narrations/{narration}/footage", content=data, headers=ours | {"x-name": "..%2F..%2Fevil%00.mp4"}
    )

    assert sent.status_code == 204
    kept = find(home, narration)
    assert kept and kept.footage
    assert kept.footage.name == "evil.mp4" and kept.footage.read_bytes() == data
    assert kept.footage.is_relative_to(home / "narrations")


def test_no_room_for_footage_is_said_before_it_is_sent(
    coach: TestClient, keys: Keys, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours = {"x-tapeside": keys.change}
    narration = coach.post("/narrations", data={"athletes": "Mara", "sport": "boxing"}, headers=ours).text
    monkeypatch.setattr("notes.desk.uploads.shutil.disk_usage", lambda _: SimpleNamespace(free=1_000))

    sent = coach.put(f"/narrations/{narration}/footage", content=b"12", headers=ours | {"x-name": "a.mp4"})

    assert sent.status_code == 422 and "room" in sent.text
    kept = find(home, narration)
    assert kept and kept.footage is None


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("athletes", "", "athletes"),
        ("athletes", "(junior)", "begins with a name"),
        ("sport", "chess", "sport"),
        ("length", "three minutes", "length"),
        ("date", "yesterday", "date"),
        ("opponent", "Mara", "stands twice"),
    ],
)
def test_a_wrong_form_is_refused_in_one_sentence(
    coach: TestClient, keys: Keys, home: Path, field: str, value: str, told: str
) -> None:
    form = {"athletes": "Mara, Mo (southpaw) (junior)", "sport": "boxing", "opponent": "Devon"} | {field: value}

    refused = coach.post("/narrations", data=form, headers={"x-tapeside": keys.change})

    assert refused.status_code == 422
    assert told in refused.text and "\n" not in refused.text
    assert not (home / "narrations").exists()
