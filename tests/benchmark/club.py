"""A made-up club of any size: notes made from sentences of the corpus, with variations.

Each note is one of the corpus's gold observations, now and then with other numbers, a sentence of another note
on the same fault, the athlete's name, or a word that nobody said before: a vocabulary never stops growing.
"""

import random
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from functools import lru_cache

from judged import Note, corpus_notes
from search_logs import FIRST_DAY, Session

from notes.archive.archive import Archive
from notes.archive.database import transaction
from notes.archive.people import keep_person
from notes.archive.rows import insert, to_row
from notes.archive.words import indexed_words
from notes.model import Observation

NOTES_A_SESSION = 20
_DAYS = 1_000
_SESSIONS_AT_ONCE = 500
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


def club_sessions(notes: int, names: Sequence[str]) -> Iterator[Session]:
    """Sessions of twenty notes on one athlete, in order of days, the same each time, until there are so many notes."""
    rng = random.Random(notes)
    gold = corpus_notes()
    akin: dict[tuple[str, ...], list[Note]] = defaultdict(list)
    for note in gold:
        akin[note.observation.faults].append(note)
    count = notes // NOTES_A_SESSION
    for number in range(count):
        name = rng.choice(names)
        said = []
        for place, note in enumerate(rng.choices(gold, k=NOTES_A_SESSION)):
            varied = _varied(note.observation, akin[note.observation.faults], name, rng)
            start = place * 15_000
            id_ = f"{number}-{place}"
            said.append(replace(varied, start_ms=start, end_ms=start + 9_000, footage_ms=start, id=id_))
        yield Session(f"session-{number}", FIRST_DAY + timedelta(days=number * _DAYS // count), tuple(said))


def keep_at_once(archive: Archive, sessions: Iterable[Session]) -> None:
    """Put sessions into the tables that `add` fills, many to a transaction; triggers index them as ever."""
    archive.db.create_function("indexed_words", 1, _indexed_words, deterministic=True)
    waiting = iter(sessions)
    while batch := [s for _, s in zip(range(_SESSIONS_AT_ONCE), waiting, strict=False)]:
        with transaction(archive.db):
            for session in batch:
                _keep(archive, session)


def _indexed_words(quote: str) -> str:
    """As the archive's own, sentence by sentence, of which many are the same."""
    return " ".join(map(_sentence_words, _SENTENCE.findall(quote)))


_sentence_words = lru_cache(maxsize=None)(indexed_words)


def _keep(archive: Archive, session: Session) -> None:
    db, day = archive.db, session.day.isoformat()
    recording = {"sha256": session.recording, "name": session.recording, "day": day, "added_at": day}
    insert(db, "recording", recording | {"sheet": "{}", "transcript": '{"timed": true}'})
    people = {athlete.name: keep_person(db, athlete) for athlete in session.sheet.athletes}
    db.executemany("INSERT INTO attendance VALUES (?, ?)", [(session.recording, p) for p in people.values()])
    made = {"recording": session.recording, "lexicon_sha256": "", "program_version": "", "made_at": day}
    reading = insert(db, "reading", made)
    for o in session.observations:
        row = to_row(o)
        insert(db, "observation", {"reading": reading, "perhaps": False} | row)
        place = {"recording": session.recording, "day": day, "person": people[o.athlete], "observation": o.id}
        insert(db, "entry", place | row)


def _varied(o: Observation, akin: list[Note], name: str, rng: random.Random) -> Observation:
    quote = o.quote
    if rng.random() < 0.2:
        quote = _NUMBER.sub(lambda _: rng.choice(_NUMBERS), quote)
    if rng.random() < 0.3:
        quote += " " + rng.choice(_SENTENCE.findall(rng.choice(akin).observation.quote)).strip()
    if rng.random() < 0.2:
        quote = f"{name}, {quote}"
    if rng.random() < 0.05:
        quote += f" Like a {''.join(rng.choices(_SYLLABLES, k=rng.choice((2, 3, 3, 4))))}."
    return replace(o, athlete=name, quote=quote)
