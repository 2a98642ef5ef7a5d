"""How long recordings are heard, and in how much memory: `python tests/benchmark/hearing.py [MINUTES]`.

The sound is the human speech of the tests, one clip after another with pauses of .4 to 4 s. The whole command is run
on all of it. Its time is set against plain faster-whisper (no filter of silence, no prompt, no word times), same
weights, threads and 8-bit, on the first ten minutes.
"""

import os
import subprocess
import sys
import time
import wave
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from notes.speech.audio import RATE_HZ, read_stretches

CLIPS = Path(__file__).parents[1] / "human_speech"
COMPARED_S = 600
_PLAIN = """
import sys
from notes.speech.models import load_model
list(load_model("base", "cpu").transcribe(sys.argv[1], language="en")[0])
"""


@dataclass(frozen=True)
class Cost:
    """What a process took: wall-clock seconds, and resident memory at its highest in MB."""

    seconds: float
    megabytes: int


def write_long(path: Path, seconds: int) -> Path:
    """A WAV of that length; the same one each time."""
    clips = [next(read_stretches(p)).samples for p in sorted(CLIPS.iterdir()) if p.suffix in (".wav", ".flac")]
    chance = np.random.default_rng(0)
    left = seconds * RATE_HZ
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        while left > 0:
            pause = chance.normal(0, 0.001, int(chance.uniform(0.4, 4) * RATE_HZ))
            part = np.concatenate([pause, clips[chance.integers(len(clips))]])[:left]
            out.writeframes((np.clip(part, -1, 1) * 32767).astype("<i2").tobytes())
            left -= len(part)
    return path


def cost(words: list[str]) -> Cost:
    """Run a program to its end. `ru_maxrss` is in kB on Linux (getrusage(2))."""
    start = time.perf_counter()
    running = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(running.pid, 0)
    if status:
        raise SystemExit(f"{words} ended with {os.waitstatus_to_exitcode(status)}")
    return Cost(time.perf_counter() - start, used.ru_maxrss // 1024)


def main(minutes: int) -> None:
    """Print time and memory of the whole, and the ratio on its beginning."""
    with TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder

        def ours(sound: Path) -> list[str]:
            return [sys.executable, "-m", "notes.cli", "transcribe", str(sound), "--out", f"{folder}/heard.json"]

        start = write_long(Path(folder) / "start.wav", COMPARED_S)
        cost(ours(start))  # joins the weights, warms the disk
        plain, same = cost([sys.executable, "-c", _PLAIN, str(start)]), cost(ours(start))
        print(f"{COMPARED_S // 60} minutes: plain {plain.seconds:.0f} s, {plain.megabytes} MB; "
              f"tapeside {same.seconds:.0f} s, {same.megabytes} MB; ratio {same.seconds / plain.seconds:.2f}", flush=True)  # fmt: skip
        whole = cost(ours(write_long(Path(folder) / "long.wav", minutes * 60)))
        print(
            f"{minutes} minutes: {whole.seconds:.0f} s (RTF {whole.seconds / minutes / 60:.3f}), {whole.megabytes} MB"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
