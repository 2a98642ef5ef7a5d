"""A year of a made-up club of thirty, through the real commands: `python tests/evaluation/season.py HOME`.

Each athlete gets ten reviews of the training corpus, its people renamed, a session every five weeks; those that speak
most of the athlete's commonest fault come first, so that it goes away. What the log, progress, search, plan and squad
then say is for eyes to judge.
"""

import os
import random
import re
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import yaml
from gold import CORPUS, Gold, read_split

NAMES = (
    "Alba Bram Cleo Dario Elin Faro Gilda Hanno Ilka Jorin Kaya Lasse Mirte Nuno Orla Pim Quinta Runa Sefa Tarik Ulla "
    "Vito Wanja Xenia Yara Zeno Ansa Berit Corin Dalia"
).split()
OPPONENT = "Rival"
SESSIONS = 10
FIRST = date(2031, 1, 13)


def renamed(gold: Gold, name: str) -> str:
    """The review's captions with the club's athlete and opponent in place of its own."""
    text = (CORPUS / "train" / f"{gold.name}.vtt").read_text(encoding="utf-8")
    athlete, opponent = gold.sheet.athletes[0], gold.sheet.opponent
    for old in athlete.names:
        text = re.sub(rf"\b{re.escape(old)}\b", name, text, flags=re.IGNORECASE)
    for old in opponent.names if opponent else ():
        text = re.sub(rf"\b{re.escape(old)}\b", OPPONENT, text, flags=re.IGNORECASE)
    return text


def season(reviews: list[Gold], chance: random.Random) -> list[Gold]:
    """Ten reviews, those that speak of the fault named most often first."""
    chosen = chance.sample(reviews, SESSIONS)
    faults = [fault for gold in chosen for mark in gold.marks for choice in mark.faults[:1] for fault in choice]
    most = max(sorted(set(faults)), key=faults.count)
    return sorted(chosen, key=lambda g: -sum(any(most in choice for choice in mark.faults) for mark in g.marks))


def main(home: Path) -> None:
    program = [sys.executable, "-m", "notes.cli", "--home", str(home)]
    chance = random.Random(30)
    by_sport: dict[str, list[Gold]] = {}
    for gold in read_split("train"):
        if len(gold.sheet.athletes) == 1:
            by_sport.setdefault(gold.sheet.sport, []).append(gold)
    sports = [sport for sport, found in sorted(by_sport.items()) if len(found) >= SESSIONS]
    with TemporaryDirectory() as folder:
        for number, name in enumerate(NAMES):
            sport = sports[number % len(sports)]
            sheet = Path(folder) / f"{name}.yaml"
            facts: dict[str, object] = {"sport": sport, "athletes": [{"name": name, "junior": number % 6 == 0}]}
            facts |= {"opponent": {"name": OPPONENT}, "rounds": {"length": 180, "rest": 60, "first_starts_at": 5}}
            sheet.write_text(yaml.safe_dump(facts), encoding="utf-8")
            talks = []
            for session, gold in enumerate(season(by_sport[sport], chance)):
                day = FIRST + timedelta(days=35 * session + number)
                talk = Path(folder) / f"{name}-{day}.vtt"
                talk.write_text(f"{renamed(gold, name)}\n\nNOTE {name} {day}\n", encoding="utf-8")
                at = datetime(day.year, day.month, day.day, 20, tzinfo=UTC).timestamp()
                os.utime(talk, (at, at))
                talks.append(str(talk))
            subprocess.run([*program, "add", *talks, "--sheet", str(sheet)], check=True)
    for words in (
        ["people"],
        ["log", NAMES[1]],
        ["progress", NAMES[1], "--plot", str(home / "progress.png")],
        ["search", "head on centreline", "--limit", "5"],
        ["plan", NAMES[0]],
        ["squad"],
    ):
        print(f"\n$ tapeside {' '.join(words)}", flush=True)
        subprocess.run([*program, *words], check=False)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
