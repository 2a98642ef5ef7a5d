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
    "fr": "Ta main gauche reste en haut quand tu recules. Il te touche parce que ta tête reste au milieu. Après le coup, "
    "sors sur le côté et garde le menton baissé. La prochaine fois, le coup de pied vient d'abord, puis le direct du droit.",
    "es": "La mano izquierda se queda arriba cuando retrocedes. Te golpea porque tu cabeza está en el medio. Después del "
    "golpe sal hacia un lado y mantén la barbilla abajo. La próxima vez primero la patada y luego el directo de derecha.",
}
ENGLISH = (
    "Your left hand stays up when you step back. He hits you because your head is in the middle. After the punch go off "
    "to the side and keep the chin down. Next time the kick comes first, then the straight right."
)
needs_espeak = pytest.mark.skipif(
    not shutil.which("espeak-ng"), reason="espeak-ng is not installed: no speech in other languages"
)


def spoken(voice: str, text: str, folder: Path) -> Path:
    path = folder / "talk.wav"
    subprocess.run(["espeak-ng", "-v", voice, "-s", "140", "-w", str(path), text], check=True)
    return path


@needs_espeak
@pytest.mark.parametrize("language", SAID)
def test_another_language_is_refused_in_one_sentence(language: str, tmp_path: Path) -> None:
    path = spoken(language, SAID[language], tmp_path)

    with pytest.raises(BadRecording, match=f'another language .it sounds like "{language}"') as caught:
        check_english(load_model("base", "cpu"), next(read_stretches(path)).samples, path)

    assert "\n" not in str(caught.value)


@needs_espeak
@pytest.mark.parametrize("accent", ["de", "es", "fr", "pl", "it", "nl", "sv", "en-029", "en-gb-scotland"])
def test_english_in_an_accent_is_not_refused(accent: str, tmp_path: Path) -> None:
    """English read by the rules of another language: a worse accent than any person's."""
    path = spoken(accent, ENGLISH, tmp_path)

    assert check_english(load_model("base", "cpu"), next(read_stretches(path)).samples, path)
