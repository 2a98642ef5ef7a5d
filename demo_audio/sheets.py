"""The sheet that goes with each recording."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml


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
