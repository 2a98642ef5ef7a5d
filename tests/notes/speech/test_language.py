"""English is never refused; the other languages are spoken by espeak-ng when it is installed."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from human import CLIPS, TEXTS
from sounds import telephone

from notes.errors import BadRecording
from notes.speech.audio import RATE_HZ, read_stretches
from notes.speech.language import check_english
from notes.speech.models import load_model


def talk() -> np.ndarray:
    return np.concatenate([next(read_stretches(CLIPS / name)).samples for name in TEXTS])


@pytest.mark.parametrize("sound", ["clean", "telephone", "noise"])
def test_english_is_english(sound: str) -> None:
    voice = talk()
    loudness = float(np.sqrt(np.square(voice).mean()))
    samples = {
        "clean": voice,
        "telephone": telephone(voice),
        "noise": voice + np.random.default_rng(4).normal(0, loudness, len(voice)).astype(np.float32),
    }[sound]

    assert check_english(load_model("base", "cpu"), samples, Path("talk.wav"))


def test_too_little_speech_settles_nothing() -> None:
    model = load_model("base", "cpu")

    assert not check_english(model, talk()[: 6 * RATE_HZ], Path("talk.wav"))
    assert not check_english(model, np.zeros(40 * RATE_HZ, np.float32), Path("talk.wav"))


SAID = {
    "de": "Die linke Hand bleibt oben, wenn du zurückgehst. Er trifft dich, weil dein Kopf in der Mitte steht. Geh nach "
    "dem Schlag zur Seite und halte das Kinn unten. Beim nächsten Mal kommt zuerst der Tritt, dann die rechte Gerade.",
}


@pytest.mark.skipif(not shutil.which("espeak-ng"), reason="espeak-ng is not installed: no speech in other languages")
@pytest.mark.parametrize("language", SAID)
def test_another_language_is_refused_in_one_sentence(language: str, tmp_path: Path) -> None:
    path = tmp_path / "talk.wav"
    subprocess.run(["espeak-ng", "-v", language, "-s", "140", "-w", str(path), SAID[language]], check=True)

    with pytest.raises(BadRecording, match=f'another language .it sounds like "{language}"') as caught:
        check_english(load_model("base", "cpu"), next(read_stretches(path)).samples, path)

    assert "\n" not in str(caught.value)
