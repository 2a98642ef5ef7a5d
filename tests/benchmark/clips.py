"""How fast clips are cut: 20 of 10 s from an hour of 1080p, beside bare ffmpeg doing the same: `make bench`.

Both seek, decode, and encode with the same x264 preset and quality; ours also mixes and levels the sound.
"""

import shutil
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from notes.report.cutting import Cut, cut_exact
from notes.report.film import AAC_BITS, X264
from notes.report.sound import Part

CLIPS = 20
LENGTH_S = 10
# Off every keyframe, spread over the hour.
STARTS_S = [60 + 173.32 * n for n in range(CLIPS)]


def make_hour(folder: Path) -> Path:
    """A drawn minute, sixty times over without encoding it anew: 1080p, 25 frames a second, a keyframe every 2 s."""
    minute, hour = folder / "minute.mp4", folder / "hour.mp4"
    picture = ["-f", "lavfi", "-i", "testsrc2=size=1920x1080:rate=25:duration=60"]
    sound = ["-f", "lavfi", "-i", "anoisesrc=duration=60:colour=pink:amplitude=0.1:sample_rate=48000"]
    form = ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "33", "-pix_fmt", "yuv420p", "-g", "50", "-c:a", "aac"]
    ffmpeg(*picture, *sound, *form, minute)
    ffmpeg("-stream_loop", "59", "-i", minute, "-c", "copy", hour)
    return hour


def ffmpeg(*words: object) -> None:
    """Run ffmpeg quietly."""
    subprocess.run(["ffmpeg", "-v", "error", "-nostdin", "-y", *map(str, words)], check=True)


def bare(hour: Path, at: float, out: Path) -> None:
    """One clip by ffmpeg."""
    quality = ["-c:v", "libx264", "-preset", X264["preset"], "-crf", X264["crf"], "-pix_fmt", "yuv420p"]
    sound = ["-c:a", "aac", "-b:a", AAC_BITS, "-movflags", "+faststart"]
    ffmpeg("-ss", at, "-i", hour, "-t", LENGTH_S, *quality, *sound, out)


def ours(hour: Path, at: float, out: Path) -> None:
    """One clip by tapeside."""
    first, last = round(at * 1000), round((at + LENGTH_S) * 1000)
    cut_exact(Cut(hour, first, last, (Part(hour, first, last, 0, voice=False),)), out, {}, lambda ms: None)


def main() -> None:
    """Print both times and their ratio."""
    if not shutil.which("ffmpeg"):
        sys.exit("clips: not measured; the baseline, ffmpeg, is not installed")
    with TemporaryDirectory() as name:
        folder = Path(name)
        hour = make_hour(folder)
        seconds = {bare: 0.0, ours: 0.0}
        size = {bare: 0.0, ours: 0.0}
        # In turn, so that other work on the machine slows both alike.
        for at in STARTS_S:
            for who in seconds:
                start = time.perf_counter()
                who(hour, at, out := folder / "clip.mp4")
                seconds[who] += time.perf_counter() - start
                size[who] += out.stat().st_size / 1e6
    print(f"clips: {CLIPS} of {LENGTH_S} s from an hour of 1080p in {seconds[ours]:.1f} s, {size[ours]:.0f} MB")
    ratio = seconds[ours] / seconds[bare]
    print(f"  ratio to bare ffmpeg ({seconds[bare]:.1f} s, {size[bare]:.0f} MB): {ratio:.2f}")


if __name__ == "__main__":
    main()
