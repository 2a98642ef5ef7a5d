"""Seconds of sound into a recording, and what the footage did into a time map."""

import json
from pathlib import Path

import numpy as np
import pytest

from notes.narrating import BadPart, begin, find, unfinished
from notes.sheet import Sheet
from notes.speech.audio import read_stretches
from notes.times import Played

SHEET = Sheet.model_validate({"sport": "boxing", "athletes": [{"name": "Mara"}]})
ID = "0123456789ab"


def tone(seconds: float, rate_hz: int, loudness: float = 0.5) -> bytes:
    wave = np.sin(2 * np.pi * 440 * np.arange(round(seconds * rate_hz)) / rate_hz)
    return (wave * loudness * 32_767).astype("<i2").tobytes()


def test_two_takes_at_different_rates_make_one_recording(home: Path) -> None:
    narration = begin(home, SHEET, ID)
    narration.keep(1, 0, 48_000, tone(1, 48_000), "[]")
    narration.keep(1, 1, 48_000, tone(0.5, 48_000), "[]")
    narration.keep(2, 0, 44_100, tone(1, 44_100, 0.1), "[]")

    assert narration.seconds == pytest.approx(2.5)
    narration.save_sound(home / "out.flac")

    (stretch,) = read_stretches(home / "out.flac")
    assert len(stretch.samples) == pytest.approx(2.5 * 16_000, abs=200)
    loud, soft = np.abs(stretch.samples[1_000:20_000]).max(), np.abs(stretch.samples[25_000:39_000]).max()
    assert loud == pytest.approx(0.5, abs=0.05)
    assert soft == pytest.approx(0.1, abs=0.02)


def test_anchors_become_a_time_map_without_what_tells_nothing_new(home: Path) -> None:
    narration = begin(home, SHEET, ID)

    def anchors(*rows: tuple[int, int, float]) -> str:
        return json.dumps([{"at_ms": a, "footage_ms": f, "rate": r} for a, f, r in rows])

    narration.keep(1, 0, 8_000, tone(1, 8_000), anchors((100, 5_000, 1), (1_000, 5_910, 1)))
    narration.keep(1, 1, 8_000, tone(1, 8_000), anchors((1_500, 6_400, 0)))
    narration.keep(2, 0, 8_000, tone(1, 8_000), anchors((0, 60_000, 0.5)))

    playback = narration.playback()
    assert playback is not None
    assert playback.played == (Played(100, 5_000, 1), Played(1_500, 6_400, 0), Played(2_000, 60_000, 0.5))


def test_sent_again_changes_nothing_and_a_hole_is_refused(home: Path) -> None:
    narration = begin(home, SHEET, ID)
    narration.keep(1, 0, 16_000, tone(1, 16_000), "[]")
    narration.keep(1, 0, 16_000, tone(1, 16_000), "[]")

    assert narration.seconds == 1
    with pytest.raises(BadPart, match="Second 2 .* before"):
        narration.keep(1, 2, 16_000, tone(1, 16_000), "[]")


@pytest.mark.parametrize(
    ("rate", "pcm", "anchors"),
    [
        (0, b"12", "[]"),
        (16_000, b"", "[]"),
        (16_000, b"123", "[]"),
        (16_000, b"12", "{"),
        (16_000, b"12", '[{"at_ms": -1}]'),
    ],
)
def test_no_sound_is_refused(home: Path, rate: int, pcm: bytes, anchors: str) -> None:
    narration = begin(home, SHEET, ID)

    with pytest.raises(BadPart):
        narration.keep(1, 0, rate, pcm, anchors)
    assert narration.seconds == 0


def test_half_written_parts_are_not_there(home: Path) -> None:
    """What a crash leaves under its unfinished name is no part."""
    narration = begin(home, SHEET, ID)
    narration.keep(1, 0, 16_000, tone(1, 16_000), "[]")
    (narration.folder / "parts" / ".001-000001-16000.pcm").write_bytes(b"half")

    (left,) = unfinished(home)
    assert left.seconds == 1
    assert left.next_take() == 2
    assert left.sheet.athletes[0].name == "Mara"


def test_an_id_cannot_lead_out_of_the_home(home: Path) -> None:
    begin(home, SHEET, ID)

    assert find(home, ID)
    assert find(home, f"../narrations/{ID}") is None
    assert find(home, "..") is None


def test_nothing_spoken_is_said(home: Path) -> None:
    with pytest.raises(BadPart, match="Nothing was recorded"):
        begin(home, SHEET, ID).save_sound(home / "out.flac")
