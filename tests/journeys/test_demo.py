"""The main job on real sound: demo recording to critique, heard by the packaged model."""

import json
import re
from pathlib import Path

import pytest

from notes.report.sound import measure, sound_of


def test_the_demo_goes_from_sound_to_critique(tapeside) -> None:
    done = tapeside("demo")

    assert done.code == 0
    assert "review.opus: kept" in done.out and "memo.opus: kept" in done.out
    assert "head-on-centreline" in done.out and "means head-on-centreline" in done.out
    path = Path(re.search(r"The critique is in (\S+\.pdf)", done.out)[1])
    assert path.suffix == ".pdf" and path.read_bytes().startswith(b"%PDF")
    assert "### Hands low on exit" in done.out and "out of the exchange with both hands down" in done.out
    clips = sorted((path.parent / "clips").glob("*.mp4"))
    named = [line.removeprefix("- **Clip:** ") for line in done.out.splitlines() if line.startswith("- **Clip:** ")]
    assert len(named) == 2 and set(named) == {clip.name for clip in clips}, "near moments share a clip"
    for clip in clips:
        assert str(clip) in done.out and f"- **Clip:** {clip.name}" in done.out and clip.with_suffix(".vtt").exists()
        assert measure(sound_of(clip, 0, 10_000))[0] == pytest.approx(-23, abs=1), "the coach is heard"


def test_speech_becomes_a_transcript_with_word_times(tapeside, sheet: Path, tmp_path: Path) -> None:
    clip = Path(__file__).parents[1] / "human_speech" / "jfk.flac"

    done = tapeside("transcribe", clip, "--model", "tiny.en", "--out", tmp_path / "t.json", "--sheet", sheet)

    assert done.code == 0
    data = json.loads((tmp_path / "t.json").read_text())
    assert data["model"] == "tiny.en"
    words = [word for segment in data["segments"] for word in segment["words"]]
    assert words[-1]["word"].startswith("country") and 9 < words[-1]["start"] < 11
