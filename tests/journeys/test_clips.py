"""From the log to films: `clips` and `chapters` as a coach runs them. WebVTT is read back by webvtt-py, not by us."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest
import webvtt
from films import read_counted, tone, write_counted
from sounds import write_wav

from notes.report.sound import measure, sound_of

TALK = """\
WEBVTT

00:00:01.000 --> 00:00:03.000
You kicked with nothing in front of it, that low kick.

00:00:14.000 --> 00:00:18.000
Your head stayed on the tramlines & he hits you -- > every time.

00:00:21.000 --> 00:00:23.000
You dropped your rear hand there.

00:00:36.000 --> 00:00:39.000
Lovely long teep.
"""
SHEET = """\
sport: kickboxing
date: 2031-03-14
athletes: [{name: "Ольга O'Neill / №1", aliases: [Mo]}]
rounds: {length: 15, rest: 5, first_starts_at: 10}
footage: sparring.mp4
"""


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty seconds at 25 frames a second; a hum for sound."""
    return write_counted(tmp_path_factory.mktemp("film") / "sparring.mp4", 1000, sound=tone(40, -40, hertz=300))


@pytest.fixture
def desk(tmp_path: Path, film: Path, tapeside: Callable) -> Path:
    """A folder with footage and a review of it that is in the log."""
    (tmp_path / "sparring.mp4").hardlink_to(film)
    (tmp_path / "review.yaml").write_text(SHEET, encoding="utf-8")
    (tmp_path / "review.vtt").write_text(TALK, encoding="utf-8")
    assert tapeside("add", tmp_path / "review.vtt", "--sheet", tmp_path / "review.yaml").code == 0
    return tmp_path


def numbers(clip: Path) -> list[int]:
    return [number for number, _ in read_counted(clip)]


def test_moments_become_clips_named_and_captioned(tapeside: Callable, desk: Path) -> None:
    before = hashlib.sha256((desk / "sparring.mp4").read_bytes()).hexdigest()

    done = tapeside("clips", "Mo", "--out", desk / "clips")

    assert done.code == 0
    clips = sorted(path.name for path in (desk / "clips").glob("*.mp4"))
    assert clips == [
        "ольга-o-neill-no1-head-on-centreline-r1-2031-03-14-0m14s.mp4",
        "ольга-o-neill-no1-no-setup-2031-03-14-0m01s.mp4",
        "ольга-o-neill-no1-push-kick-r2-2031-03-14-0m36s.mp4",
    ]
    # From 4 s before to 6 s after, at 25 frames a second; at 0:14 and 0:21 the stretches overlap and are one clip.
    joined, at_start, at_end = (desk / "clips" / name for name in clips)
    assert numbers(joined) == list(range(10 * 25, 27 * 25))
    assert numbers(at_start) == list(range(7 * 25))
    assert numbers(at_end) == list(range(32 * 25, 1000))
    first, second = webvtt.read(str(joined.with_suffix(".vtt")))
    assert (first.start, first.end) == ("00:00:04.000", "00:00:08.000")
    assert "tramlines &amp; he hits you -- &gt; every time" in first.raw_text
    assert second.start == "00:00:11.000" and "rear hand" in second.text
    assert hashlib.sha256((desk / "sparring.mp4").read_bytes()).hexdigest() == before


def test_what_was_cut_is_not_cut_again_unless_asked_for_otherwise(tapeside: Callable, desk: Path) -> None:
    tapeside("clips", "Mo", "--out", desk / "clips")
    clip = next((desk / "clips").glob("*push-kick*.mp4"))
    made = clip.stat().st_mtime_ns

    again = tapeside("clips", "Mo", "--out", desk / "clips")
    assert again.out.count("there already") == 3 and clip.stat().st_mtime_ns == made

    shorter = tapeside("clips", "Mo", "--out", desk / "clips", "--before", 1, "--after", 5)
    assert "there already" not in shorter.out and numbers(clip)[0] == 35 * 25


def test_an_interrupted_run_leaves_no_half_clip_and_goes_on(
    tapeside: Callable, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from notes.report.film import Film

    real, shown = Film.show, iter(range(10_000))

    def show(self: Film, *frame: object) -> None:
        if next(shown) == 300:
            raise KeyboardInterrupt
        real(self, *frame)

    with monkeypatch.context() as patch:
        patch.setattr(Film, "show", show)
        assert tapeside("clips", "Mo", "--out", desk / "clips").code == 130

    whole = {path: path.stat().st_mtime_ns for path in (desk / "clips").iterdir() if path.suffix != ".vtt"}
    assert [path.name for path in whole] == ["ольга-o-neill-no1-no-setup-2031-03-14-0m01s.mp4"]
    done = tapeside("clips", "Mo", "--out", desk / "clips")
    assert done.code == 0 and done.out.count("there already") == 1
    assert all(path.stat().st_mtime_ns == made for path, made in whole.items())


def test_one_note_is_cut_by_its_id(tapeside: Callable, desk: Path) -> None:
    log = json.loads(tapeside("log", "Mo", "--json").out)
    note = next(line for line in log["lines"] if line["key"] == "head-on-centreline")["observations"][0]

    done = tapeside("clips", note["id"], "--out", desk / "one", "--after", 2)

    assert done.code == 0
    (clip,) = (desk / "one").glob("*.mp4")
    assert numbers(clip) == list(range(10 * 25, 16 * 25))


def test_a_critique_cuts_and_names_the_clips_of_what_to_work_on(tapeside: Callable, desk: Path) -> None:
    done = tapeside("critique", "Mo", "--clips", desk / "clips", "--out", desk / "mo.md")

    assert done.code == 0
    clips = sorted(path.name for path in (desk / "clips").glob("*.mp4"))
    # Heads and hands are seven seconds apart: one clip shows both.
    joined, at_start = clips
    assert "head-on-centreline" in joined and "no-setup" in at_start
    assert numbers(desk / "clips" / joined) == list(range(10 * 25, 27 * 25))
    told = [line.replace("\\", "") for line in (desk / "mo.md").read_text().splitlines() if "Clip:" in line]
    assert sorted(told) == [f"- **Clip:** {name}" for name in (joined, joined, at_start)]


def test_the_reel_shows_a_card_before_each_clip(tapeside: Callable, desk: Path) -> None:
    done = tapeside("clips", "Mo", "--out", desk / "clips", "--reel", desk / "reel.mp4")

    assert done.code == 0
    with av.open(str(desk / "reel.mp4")) as reel:
        chapters = [(c["metadata"]["title"], c["start"] / 1000, c["end"] / 1000) for c in reel.chapters()]
        length = float(reel.streams.video[0].duration * reel.streams.video[0].time_base)
    # Three seconds of card before clips of 7, 17 and 8 seconds.
    assert [(start, end) for _, start, end in chapters] == [(0, 10), (10, 30), (30, 41)]
    assert [title for title, *_ in chapters] == ["No setup", "Head on centreline, Hand drops on strike", "Push kick"]
    assert length == pytest.approx(41, abs=0.001)
    shown = read_counted(desk / "reel.mp4")
    assert [n for n, at in shown if 3 <= at < 10] == list(range(175))
    assert [n for n, at in shown if 13 - 1e-4 <= at < 30 - 1e-4] == list(range(250, 675))
    assert measure(sound_of(desk / "reel.mp4", 0, 41_000))[0] == pytest.approx(-23, abs=1)
    cues = webvtt.read(str(desk / "reel.vtt"))
    assert [cue.start for cue in cues] == ["00:00:04.000", "00:00:17.000", "00:00:24.000", "00:00:37.000"]


def test_the_coach_is_heard_from_the_recording_beside_the_footage(
    tapeside: Callable, desk: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A review by voice: what was said is put in place of the recogniser, the sound is a tone of 440 Hz at 0:36."""
    from notes.commands import add
    from notes.speech.transcripts import read_transcript

    voice = np.zeros(40 * 16_000, np.float32)
    voice[36 * 16_000 : 39 * 16_000] = np.sin(2 * np.pi * 440 * np.arange(3 * 16_000) / 16_000) * 0.2
    write_wav(desk / "spoken.wav", voice)
    heard = read_transcript(desk / "review.vtt")
    monkeypatch.setattr(add, "hear", lambda *words: heard)
    other = desk / "other-home"
    assert tapeside("--home", other, "add", desk / "spoken.wav", "--sheet", desk / "review.yaml").code == 0

    done = tapeside("--home", other, "clips", "Mo", "--out", desk / "clips", "--sound", "narration")

    assert done.code == 0
    clip = next((desk / "clips").glob("*push-kick*.mp4"))
    sound = sound_of(clip, 0, 8_000)[0]
    assert np.abs(sound[: 48_000 * 3]).max() < 0.01 < np.abs(sound[48_000 * 5 :]).max()
    assert np.abs(np.fft.rfft(sound))[: 4_000 * 8].argmax() / 8 == pytest.approx(440, abs=2)

    (desk / "elsewhere").mkdir()
    (desk / "spoken.wav").rename(desk / "elsewhere" / "spoken.wav")
    lost = tapeside("--home", other, "clips", "Mo", "--out", desk / "more", "--sound", "narration")
    assert lost.code == 2 and "spoken.wav" in lost.err and "--look-in" in lost.err and not (desk / "more").exists()
    found = tapeside(
        "--home", other, "clips", "Mo", "--out", desk / "more", "--sound", "both", "--look-in", desk / "elsewhere"
    )
    assert found.code == 0


def test_footage_that_is_gone_is_named_with_a_mend(tapeside: Callable, desk: Path) -> None:
    (desk / "moved").mkdir()
    (desk / "sparring.mp4").rename(desk / "moved" / "sparring.mp4")

    lost = tapeside("clips", "Mo", "--out", desk / "clips")

    assert lost.code == 2 and len(lost.err.strip().splitlines()) == 1
    assert str(desk / "sparring.mp4") in lost.err and "--look-in" in lost.err
    assert not (desk / "clips").exists()
    assert tapeside("clips", "Mo", "--out", desk / "clips", "--look-in", desk / "moved").code == 0


def test_originals_are_never_written_over(tapeside: Callable, desk: Path) -> None:
    done = tapeside("clips", "Mo", "--out", desk / "clips", "--reel", desk / "sparring.mp4")

    assert done.code == 2 and "is an original" in done.err
    assert len(numbers(desk / "sparring.mp4")) == 1000


def test_a_fast_cut_says_where_it_falls(tapeside: Callable, desk: Path) -> None:
    done = tapeside("clips", "Mo", "--out", desk / "clips", "--fast")

    assert done.code == 0 and "keyframe" in done.out
    joined = numbers(next((desk / "clips").glob("*head-on-centreline*.mp4")))
    assert joined[0] == 240  # A keyframe every 30 frames; the stretch begins at frame 250.
    assert tapeside("clips", "Mo", "--out", desk / "clips", "--fast", "--burn").code == 2


def test_a_note_without_a_moment_is_counted_not_cut(tapeside: Callable, tmp_path: Path, sheet: Path) -> None:
    (tmp_path / "memo.txt").write_text("You kicked with nothing in front of it, that low kick.\n")
    assert tapeside("add", tmp_path / "memo.txt", "--sheet", sheet).code == 0

    done = tapeside("clips", "Mara", "--out", tmp_path / "clips")

    assert done.code == 1 and "1 note of 1 without a moment on footage" in done.err
    assert not (tmp_path / "clips").exists()


def test_chapters_nest_notes_in_rounds_and_captions_keep_the_talk(tapeside: Callable, desk: Path) -> None:
    done = tapeside("chapters", "Mo", "--out", desk / "vtt")

    assert done.code == 0
    chapters = [(c.start, c.end, c.text) for c in webvtt.read(str(desk / "vtt" / "review.chapters.vtt"))]
    assert chapters == [
        ("00:00:01.000", "00:00:10.000", "No setup"),
        ("00:00:10.000", "00:00:25.000", "Round 1"),
        ("00:00:14.000", "00:00:21.000", "Head on centreline"),
        ("00:00:21.000", "00:00:25.000", "Hand drops on strike"),
        ("00:00:30.000", "00:00:45.000", "Round 2"),
        ("00:00:36.000", "00:00:45.000", "Push kick"),
    ]
    captions = list(webvtt.read(str(desk / "vtt" / "review.captions.vtt")))
    assert len(captions) == 4 and captions[1].start == "00:00:14.000"
    assert captions[1].raw_text == "Your head stayed on the tramlines &amp; he hits you -- &gt; every time."
