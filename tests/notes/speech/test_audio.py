from pathlib import Path

import numpy as np
import pytest
from human import CLIPS, TEXTS
from sounds import telephone, write_phone_video, write_video, write_wav

from notes.errors import BadRecording
from notes.speech.audio import RATE_HZ, _quietest, is_by_telephone, read_stretches, sound_length_ms


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 44_100])
def test_any_rate_becomes_sixteen_kilohertz(tmp_path: Path, rate_hz: int) -> None:
    path = write_wav(tmp_path / "a.wav", np.zeros(rate_hz * 3, np.float32), rate_hz)

    stretches = list(read_stretches(path))

    assert sound_length_ms(path) == 3_000
    assert sum(len(s.samples) for s in stretches) == pytest.approx(3 * RATE_HZ, abs=200)
    assert stretches[0].samples.dtype == np.float32


def test_long_sound_is_cut_where_it_is_quiet(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, 700 * RATE_HZ).astype(np.float32)
    quiet = 310 * RATE_HZ
    noise[quiet : quiet + RATE_HZ // 2] = 0
    path = write_wav(tmp_path / "long.wav", noise)

    stretches = list(read_stretches(path))

    assert 310_000 <= stretches[1].start_ms <= 310_500
    assert [s.start_ms for s in stretches] == sorted(s.start_ms for s in stretches)
    joined = np.concatenate([s.samples for s in stretches])
    assert np.allclose(joined, noise, atol=1e-3)


def test_the_quietest_place_is_found() -> None:
    samples = np.ones(RATE_HZ * 4, np.float32)
    samples[RATE_HZ * 2 : RATE_HZ * 3] = 0

    assert RATE_HZ * 2 <= _quietest(samples, 0, len(samples)) <= RATE_HZ * 3


def test_the_sound_of_a_video_is_read(tmp_path: Path) -> None:
    path = write_video(tmp_path / "v.mp4", 3, sound=True)

    assert sound_length_ms(path) == pytest.approx(3_000, abs=100)


@pytest.mark.parametrize(
    ("ending", "tracks", "beep_s"),
    [
        (".mp4", {}, 2),
        (".mp4", {"audio_s": 1.5}, 3.5),
        (".mp4", {"video_s": 0.7}, 2),
        (".mp4", {"pause_s": 1.25}, 3.25),
        (".mp4", {"audio_s": -0.5}, 1.5),  # an edit list cuts what was before the picture
        (".mov", {"audio_s": 1.5, "rate_hz": 44_100}, 3.5),
        (".mkv", {"audio_s": 1.5}, 3.5),
        (".mkv", {"audio_s": -0.5}, 2),  # the sound starts the file, the picture follows at .5 s
        (".mkv", {"audio_s": 100, "video_s": 100}, 2),  # a player counts from the first track
        (".ts", {"audio_s": 1.5}, 3.5),
        (".webm", {"pause_s": 1.25}, 3.25),
    ],
)
def test_sound_stands_at_its_time_in_the_video(
    tmp_path: Path, ending: str, tracks: dict[str, float], beep_s: float
) -> None:
    path = write_phone_video(tmp_path / f"phone{ending}", **tracks)

    sound = np.concatenate([s.samples for s in read_stretches(path)])

    assert np.argmax(np.abs(sound) > 0.1) / RATE_HZ == pytest.approx(beep_s, abs=0.05)
    assert sound_length_ms(path) == pytest.approx(len(sound) / RATE_HZ * 1_000, abs=60)


def refusal(path: Path) -> str:
    with pytest.raises(BadRecording) as caught:
        sound_length_ms(path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_what_is_no_recording_is_refused(tmp_path: Path) -> None:
    empty = tmp_path / "empty.wav"
    empty.touch()
    text = tmp_path / "talk.mp3"
    text.write_text("these are only words " * 50)

    assert "No such file" in refusal(tmp_path / "none.mp3")
    assert "is a folder" in refusal(tmp_path)
    assert "is empty" in refusal(empty)
    assert "no sound or video that can be read" in refusal(text)


def test_a_video_cut_short_is_refused(tmp_path: Path) -> None:
    whole = write_video(tmp_path / "whole.mp4", 20, sound=True).read_bytes()
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(whole[: len(whole) // 2])

    assert "cut short" in refusal(cut)


def test_a_video_without_sound_is_refused(tmp_path: Path) -> None:
    assert "has no sound track" in refusal(write_video(tmp_path / "v.mp4", 2, sound=False))


@pytest.mark.parametrize("clip", TEXTS)
def test_a_telephone_is_told_by_its_band(clip: str) -> None:
    """Human speech as it is, and by telephone."""
    samples = next(read_stretches(CLIPS / clip)).samples

    assert not is_by_telephone(samples)
    assert is_by_telephone(telephone(samples))
    assert not is_by_telephone(np.zeros(RATE_HZ, np.float32))
