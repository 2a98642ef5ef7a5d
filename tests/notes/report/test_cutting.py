"""Clips cut from footage whose frames carry their own number; lengths checked with ffprobe, which is not ours."""

import json
import shutil
import subprocess
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import av
import numpy as np
import pytest
from films import read_counted, tone, write_counted
from PIL import Image

from notes.errors import BadRecording
from notes.model import Segment
from notes.report.cutting import Cut, cut_exact, cut_fast
from notes.report.sound import Part, measure, sound_of


def cut(footage: Path, start_ms: int, end_ms: int, **more: object) -> Path:
    out = footage.with_name("clip.mp4")
    told: list[int] = []
    cut_exact(Cut(footage, start_ms, end_ms, **more), out, {}, told.append)
    assert sum(told) == end_ms - start_ms, "the progress bar ends full"
    return out


@pytest.mark.parametrize(
    ("rate", "first", "last"),
    [
        # First frame at or after 3.4 s, last one before 7.4 s: counted by hand from the rate.
        (Fraction(25), 85, 184),
        (Fraction(60), 204, 443),
        (Fraction(30_000, 1001), 102, 221),
    ],
)
def test_the_clip_holds_the_frames_of_its_stretch_and_no_other(
    tmp_path: Path, rate: Fraction, first: int, last: int
) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 500, rate=rate)

    shown = read_counted(cut(footage, 3_400, 7_400))

    assert [number for number, _ in shown] == list(range(first, last + 1))
    assert [at for _, at in shown] == pytest.approx([n / float(rate) for n in range(len(shown))], abs=2e-5)


@pytest.mark.parametrize("ending", ["mkv", "ts", "mov"])
def test_other_containers_are_cut_as_exactly(tmp_path: Path, ending: str) -> None:
    """A transport stream has no index and does not start at 0; keyframes are 30 frames apart."""
    footage = write_counted(tmp_path / f"footage.{ending}", 250)

    assert [number for number, _ in read_counted(cut(footage, 3_000, 5_000))] == list(range(75, 125))

    fast = tmp_path / "fast.mkv"
    cut_fast(Cut(footage, 3_000, 5_000), fast, {}, lambda ms: None)
    # Without an index the keyframe is not always the nearest one.
    assert read_counted(fast)[0][0] == (0 if ending == "ts" else 60)


def test_frames_of_uneven_length_keep_their_times(tmp_path: Path) -> None:
    times = list(np.cumsum(np.random.default_rng(7).integers(15, 90, 200)))
    footage = write_counted(tmp_path / "footage.mp4", 200, times_ms=[int(t) for t in times])
    zero = times[0]
    expected = [n for n, t in enumerate(times) if 3_000 <= t - zero < 6_000]

    shown = read_counted(cut(footage, 3_000, 6_000))

    assert [number for number, _ in shown] == expected
    assert [at for _, at in shown] == pytest.approx(
        [(times[n] - times[expected[0]]) / 1000 for n in expected], abs=1e-4
    )


def test_a_clip_ends_with_the_footage(tmp_path: Path) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 100, sound=tone(4, -20))

    clip = cut(footage, 2_000, 12_000, sound=(Part(footage, 2_000, 12_000, 0, voice=False),))

    assert [number for number, _ in read_counted(clip)] == list(range(50, 100))
    assert probed(clip)["audio"] == pytest.approx(2.0, abs=0.025)


def test_a_moment_past_the_end_is_told_with_file_and_time(tmp_path: Path) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 50)

    with pytest.raises(BadRecording, match=r'"\S+footage.mp4" ends before 1:05'):
        cut(footage, 65_000, 70_000)

    assert [path.name for path in tmp_path.iterdir()] == ["footage.mp4"]


@pytest.mark.parametrize("rotation", [90, -90, 180])
def test_footage_filmed_on_its_side_is_turned_as_players_turn_it(tmp_path: Path, rotation: int) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 50, rotation=rotation)

    clip = cut(footage, 400, 1_600)

    seen = ffmpeg_frame(footage, 10)
    assert seen.shape == ((320, 240) if rotation % 180 else (240, 320))
    assert np.abs(ffmpeg_frame(clip, 0).astype(int) - seen).mean() < 4


def test_sound_stays_with_its_picture(tmp_path: Path) -> None:
    """A beep under frame 75 of 25 a second begins 1 s into a clip from 2 s on."""
    sound = np.zeros((2, 48_000 * 6), np.float32)
    sound[:, 3 * 48_000 : 3 * 48_000 + 9_600] = tone(0.2, -6)
    footage = write_counted(tmp_path / "footage.mp4", 150, sound=sound)

    clip = cut(footage, 2_000, 5_000, sound=(Part(footage, 2_000, 5_000, 0, voice=False),))

    heard = np.abs(sound_of(clip, 0, 3_000)[0])
    assert int(np.argmax(heard > 0.1)) == pytest.approx(48_000, abs=240)


def test_footage_without_sound_makes_a_clip_without_sound(tmp_path: Path) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 100)

    clip = cut(footage, 1_000, 3_000, sound=(Part(footage, 1_000, 3_000, 0, voice=False),))

    assert set(probed(clip)) == {"video", "frames"}


def test_a_burnt_in_caption_stands_at_its_time_only(tmp_path: Path) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 150)

    clip = cut(footage, 1_000, 5_000, captions=(Segment(1_000, 2_000, "Head on centreline: “Ольга, уходи”"),))

    with av.open(str(clip)) as film:
        darkest = {round(f.time, 2): int(f.to_ndarray(format="gray")[120:].min()) for f in film.decode(video=0)}
    assert [at for at, dark in darkest.items() if dark < 90] == [round(1 + n / 25, 2) for n in range(25 + 1)]
    assert [number for number, _ in read_counted(clip)] == list(range(25, 125))


def test_a_fast_cut_begins_at_the_keyframe_before(tmp_path: Path) -> None:
    footage = write_counted(tmp_path / "footage.mp4", 200, sound=tone(8, -20))
    out = tmp_path / "fast.mp4"

    cut_fast(Cut(footage, 3_400, 6_000), out, {}, lambda ms: None)

    numbers = [number for number, _ in read_counted(out)]
    # A keyframe every 30 frames: the one at or before frame 85 is 60.
    assert numbers[0] == 60 and numbers[-1] in (149, 150)
    assert probed(out)["video"] == pytest.approx(len(numbers) / 25, abs=0.01)


def test_damaged_footage_is_refused_in_a_sentence(tmp_path: Path) -> None:
    footage = tmp_path / "footage.mp4"
    footage.write_bytes(b"no film at all" * 400)

    with pytest.raises(BadRecording, match=r'The footage "\S+footage.mp4" cannot be read'):
        cut(footage, 0, 1_000)


def test_ffprobe_counts_length_and_frames_alike(tmp_path: Path) -> None:
    """Ten seconds at 25 frames a second: 250 frames, 10.000 s of picture, and sound to within a frame of AAC (21 ms)."""
    footage = write_counted(tmp_path / "footage.mp4", 400, sound=tone(16, -30))

    clip = cut(footage, 3_000, 13_000, sound=(Part(footage, 3_000, 13_000, 0, voice=False),))

    told = probed(clip)
    assert told["frames"] == 250
    assert told["video"] == pytest.approx(10.0, abs=0.001)
    assert told["audio"] == pytest.approx(10.0, abs=0.022)
    assert measure(sound_of(clip, 0, 10_000))[0] == pytest.approx(-23, abs=0.3)


def probed(path: Path) -> dict[str, float]:
    """Seconds of the picture and of the sound, and how many frames there are, by ffprobe."""
    said = _run("ffprobe", "-v", "error", "-count_frames", "-show_streams", "-of", "json", str(path))
    streams = {s["codec_type"]: s for s in json.loads(said)["streams"]}
    return {kind: float(s["duration"]) for kind, s in streams.items()} | {
        "frames": int(streams["video"]["nb_read_frames"])
    }


def ffmpeg_frame(path: Path, number: int) -> np.ndarray:
    """One frame as ffmpeg shows it, upright, in grey, shape (rows, columns)."""
    chosen = ("-vf", f"select=eq(n\\,{number})", "-frames:v", "1")
    png = _run("ffmpeg", "-v", "error", "-i", str(path), *chosen, "-f", "image2pipe", "-c:v", "png", "-")
    return np.asarray(Image.open(BytesIO(png)).convert("L"))


def _run(*words: str) -> bytes:
    if not shutil.which(words[0]):
        pytest.skip(f"{words[0]} is not installed; clips are then not checked by a program other than ours")
    return subprocess.run(words, capture_output=True, check=True).stdout
