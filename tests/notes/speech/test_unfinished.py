"""An interrupted hearing goes on where it stopped. 20 kills: `KILLS=20 pytest tests/notes/speech/test_unfinished.py`."""

import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from human import CLIPS, TEXTS
from sounds import write_wav

from notes.model import Segment, Word
from notes.speech.audio import RATE_HZ, Stretch, read_stretches
from notes.speech.unfinished import Unfinished

STRETCH = Stretch(np.linspace(-1, 1, 1_000, dtype=np.float32), 5_000)
HEARD = [Segment(5_100, 5_900, "Hands up.", (Word("Hands", 5_100, 5_400, 0.912), Word("up.", 5_500, 5_900, 0.5)))]
# Short stretches, so that a short recording has many.
_CHILD = """
import sys
from notes.speech import audio
audio._STRETCH_S, audio._SEARCH_S = 6, 4
from notes.cli import main
sys.argv[0] = "tapeside"
main()
"""


def test_what_was_heard_comes_back(tmp_path: Path) -> None:
    Unfinished(tmp_path / "kept").save(STRETCH, HEARD)

    assert Unfinished(tmp_path / "kept").load(STRETCH) == HEARD
    assert [p.suffix for p in (tmp_path / "kept").iterdir()] == [".json"]


def test_a_torn_a_changed_or_a_foreign_file_is_not_trusted(tmp_path: Path) -> None:
    unfinished = Unfinished(tmp_path)
    unfinished.save(STRETCH, HEARD)
    file = next(tmp_path.iterdir())
    whole = file.read_bytes()

    for wrong in (whole[: len(whole) // 2], b"", b"[]", b"{}", b"\xff\x00", whole.replace(b"Hands", b"Knees")):
        file.write_bytes(wrong)
        assert unfinished.load(STRETCH) is None, wrong
    file.write_bytes(whole)
    assert unfinished.load(Stretch(STRETCH.samples * 0.5, STRETCH.start_ms)) is None
    assert unfinished.load(Stretch(STRETCH.samples, 0)) is None
    assert unfinished.load(STRETCH) == HEARD


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    pause = np.zeros(RATE_HZ, np.float32)
    parts = [part for name in TEXTS for part in (next(read_stretches(CLIPS / name)).samples, pause)]
    return write_wav(tmp_path / "talk.wav", np.concatenate(parts))


def started(sound: Path, out: Path, cache: Path) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-c", _CHILD, "transcribe", str(sound), "--model", "tiny.en", "--out", str(out)]
    return subprocess.Popen(words, env={**os.environ, "XDG_CACHE_HOME": str(cache)}, stderr=subprocess.PIPE)


def finished(sound: Path, out: Path, cache: Path) -> str:
    running = started(sound, out, cache)
    _, err = running.communicate(timeout=300)
    assert running.returncode == 0, err
    return out.read_text()


def test_killed_at_random_moments_it_comes_to_the_same_transcript(sound: Path, tmp_path: Path) -> None:
    kills = int(os.environ.get("KILLS", "3"))
    moments = random.Random(6)
    begun = time.monotonic()
    whole = finished(sound, tmp_path / "whole.json", tmp_path / "once")
    length = time.monotonic() - begun
    cache, out = tmp_path / "often", tmp_path / "out.json"
    killed = resumed = 0
    while killed < kills:
        resumed += bool(list(cache.glob("tapeside/heard/*/*.json")))
        running = started(sound, out, cache)
        try:
            running.communicate(timeout=moments.uniform(0.2, 1) * length)
        except subprocess.TimeoutExpired:
            running.kill()
            running.communicate()
            killed += 1
        if out.exists():
            assert out.read_text() == whole, "nothing is half-written"
            out.unlink()

    assert finished(sound, out, cache) == whole
    assert len(json.loads(whole)["segments"]) >= 8
    print(f"killed {killed} times, {resumed} of the runs went on from a kept stretch")
    assert list((cache / "tapeside" / "heard").iterdir()) == []
