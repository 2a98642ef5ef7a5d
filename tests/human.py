"""The human speech that tests measure with. Sources, licences and texts: tests/human_speech/."""

import json
import re
from pathlib import Path

import yaml

CLIPS = Path(__file__).parent / "human_speech"
TEXTS: dict[str, str] = yaml.safe_load((CLIPS / "references.yaml").read_text())
ALIGNED = tuple(name for name in TEXTS if name.startswith("librivox"))


def plain(text: str) -> str:
    """Small letters without marks."""
    return " ".join(re.sub(r"[^a-z' ]+", " ", text.lower()).split())


def word_starts(name: str) -> list[tuple[str, float]]:
    """Words of an aligned clip with their starts in seconds, by a forced aligner that is independent of Whisper."""
    aligned = json.loads((CLIPS / name.replace(".wav", ".words.json")).read_text())["w"]
    return [(re.sub(r"\(\d\)", "", w["t"]), w["b"]) for w in aligned if not w["t"].startswith("<")]
