"""`record`, with a microphone that plays human speech."""

import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from notes.archive.archive import Archive
from notes.narrating import unfinished
from notes.settings import RECORDINGS
from notes.speech.audio import RATE_HZ, read_stretches

CLIP = Path(__file__).parents[1] / "human_speech" / "jfk.flac"


class Microphone:
    """As sounddevice's RawInputStream: gives tenths of a second to its callback, here faster than they are spoken."""

    played = threading.Event()

    def __init__(
        self, *, samplerate: int, blocksize: int, device: Any, channels: int, dtype: str, callback: Callable[..., None]
    ):
        assert (samplerate, channels, dtype) == (RATE_HZ, 1, "int16")
        if device == "broken":
            raise ValueError("No input device matching 'broken'")
        (stretch,) = read_stretches(CLIP)
        pcm = (stretch.samples * 32_767).astype("<i2")
        self.blocks = [pcm[i : i + blocksize].tobytes() for i in range(0, len(pcm), blocksize)]
        self.callback = callback

    def __enter__(self) -> None:
        def play() -> None:
            for block in self.blocks:
                self.callback(block, len(block) // 2, None, None)
            time.sleep(0.5)
            self.played.set()

        threading.Thread(target=play, daemon=True).start()

    def __exit__(self, *_: object) -> None:
        pass


@pytest.fixture
def microphone(monkeypatch: pytest.MonkeyPatch) -> type[Microphone]:
    """In the place of the real one; Enter is pressed when it has played to its end."""
    Microphone.played.clear()
    module = SimpleNamespace(RawInputStream=Microphone, PortAudioError=OSError)
    monkeypatch.setitem(sys.modules, "sounddevice", module)
    monkeypatch.setattr("builtins.input", lambda: Microphone.played.wait(60))
    return Microphone


def test_a_memo_is_recorded_heard_and_kept(microphone, tapeside, sheet: Path, home: Path) -> None:
    done = tapeside("record", "--sheet", sheet, "--model", "tiny.en")

    assert done.code == 0, done
    assert "kept; observations: Mara 0" in done.out
    assert unfinished(home) == []
    with Archive(home) as archive:
        (recording,) = archive.recordings()
        heard, _ = archive.heard(recording.sha256)
    assert "country" in " ".join(s["text"] for s in heard["segments"])
    assert recording.path and recording.path.parent == home / RECORDINGS
    (kept,), (spoken,) = read_stretches(recording.path), read_stretches(CLIP)
    assert np.abs(kept.samples[: len(spoken.samples)] - spoken.samples).max() < 1e-3


def test_after_a_break_it_goes_on(
    microphone, tapeside, sheet: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed() -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr("notes.commands.record._show", lambda seconds, sound: pressed() if seconds > 3 else None)
    assert tapeside("record", "--sheet", sheet, "--model", "tiny.en").code == 130
    (left,) = unfinished(home)
    before = left.seconds
    assert before > 3
    monkeypatch.undo()
    monkeypatch.setitem(sys.modules, "sounddevice", SimpleNamespace(RawInputStream=Microphone, PortAudioError=OSError))
    monkeypatch.setattr("builtins.input", lambda: Microphone.played.wait(60))

    Microphone.played.clear()
    done = tapeside("record", "--sheet", sheet, "--model", "tiny.en")

    assert "Going on with what was said before: 0:0" in done.out
    with Archive(home) as archive:
        (recording,) = archive.recordings()
    assert recording.path
    (kept,), (spoken,) = read_stretches(recording.path), read_stretches(CLIP)
    assert len(kept.samples) / RATE_HZ == pytest.approx(before + len(spoken.samples) / RATE_HZ, abs=0.1)


def test_no_such_microphone(microphone, tapeside, sheet: Path) -> None:
    done = tapeside("record", "--sheet", sheet, "--device", "broken")

    assert done.code == 2
    assert "microphone cannot be used" in done.err and done.err.count("\n") == 1


def test_without_the_library_the_way_to_it_is_told(tapeside, sheet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)

    done = tapeside("record", "--sheet", sheet)

    assert done.code == 2
    assert "pip install 'tapeside[record]'" in done.err
