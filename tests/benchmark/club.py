"""A made-up club of any size: notes made from sentences of the corpus, with variations.

Each note is one of the corpus's gold observations, its clock times and numbers changed, now and then with a sentence
of another note on the same fault, the athlete's name, or a word that nobody said before (a vocabulary never stops growing).
"""

import random
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from judged import Note, corpus_notes

from notes.model import Observation

NOTES_A_SESSION = 20
FIRST_DAY = date(2031, 1, 6)
DAYS = 1_000
_NUMBERS = "one two three four five six seven eight nine ten twenty thirty forty fifty".split()
_NUMBER = re.compile(rf"\b({'|'.join(_NUMBERS)})\b", re.IGNORECASE)
_SENTENCE = re.compile(r"[^.?!]+[.?!]*")
_SYLLABLES = "ba ce di fo gu ha je ki lo mu na pe qui ro su ta ve wi xo zu bran cle dri sto thu wen gry plo".split()


def athletes(count: int) -> list[str]:
    """So many invented names, each different."""
    rng = random.Random(7)
    names: dict[str, None] = {}
    while len(names) < count:
        names["".join(rng.choices(_SYLLABLES, k=3)).capitalize()] = None
    return list(names)


def sessions(notes: int, people: list[str], seed: int = 1) -> Iterator[tuple[str, date, list[Observation]]]:
    """Sessions of twenty notes, each of one athlete, in order of days, until there are so many notes."""
    rng = random.Random(seed)
    gold = corpus_notes()
    akin: dict[tuple[str, ...], list[Note]] = defaultdict(list)
    for note in gold:
        akin[note.observation.faults].append(note)
    count = notes // NOTES_A_SESSION
    for number in range(count):
        name = rng.choice(people)
        chosen = rng.choices(gold, k=NOTES_A_SESSION)
        said = [
            _varied(note.observation, akin[note.observation.faults], name, place, rng)
            for place, note in enumerate(chosen)
        ]
        yield name, FIRST_DAY + timedelta(days=number * DAYS // count), said


def _varied(o: Observation, akin: list[Note], name: str, place: int, rng: random.Random) -> Observation:
    quote = _NUMBER.sub(lambda _: rng.choice(_NUMBERS), o.quote)
    if rng.random() < 0.3:
        quote += " " + rng.choice(_SENTENCE.findall(rng.choice(akin).observation.quote)).strip()
    if rng.random() < 0.2:
        quote = f"{name}, {quote}"
    if rng.random() < 0.05:
        quote += f" Like a {''.join(rng.choices(_SYLLABLES, k=rng.choice((2, 3, 3, 4))))}."
    start = place * 15_000
    return replace(o, athlete=name, quote=quote, start_ms=start, end_ms=start + 9_000, footage_ms=start, id="")
