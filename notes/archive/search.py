"""Search over all sessions: words, phrases, concepts and near spellings, best or newest first.

However large the log, only a bounded number of the newest candidates is ranked: bm25 over every note that has a common
word would take ten times as long as all the rest (`make bench-search`).
"""

import json
import re
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.asking import Asked, ask, notes_with
from notes.archive.entries import Kept
from notes.archive.people import KnownPerson
from notes.archive.words import SMALL, plain, quoted, tag

Order = Literal["best", "newest"]
# So many of the newest that match are ranked; with so many found, no looser match is tried.
_POOL = 200
_ENOUGH = 60
# Of an athlete with no more notes, each thing asked for is looked up once for all looser matches.
_FEW = 10_000
# bm25's saturation and length norm, over a usual remark's words.
_K, _B, _USUAL_LENGTH = 1.2, 0.75, 30.0
_NEIGHBOUR_BONUS = 0.5


@dataclass(frozen=True, slots=True)
class Filters:
    """What results must be; None lets anything pass. Days are inclusive."""

    athlete: KnownPerson | None = None
    kind: str | None = None
    fault: str | None = None
    technique: str | None = None
    round: int | None = None
    since: date | None = None
    until: date | None = None

    @property
    def tags(self) -> list[str]:
        """The index tags that a note must have."""
        athlete = self.athlete and self.athlete.id
        facts = [("athlete", athlete), ("kind", self.kind), ("is", self.fault), ("is", self.technique)]
        return [tag(sort, value) for sort, value in [*facts, ("round", self.round)] if value is not None]


@dataclass(frozen=True, slots=True)
class Result:
    """A found observation, its score (higher is better), why it matched, and the query that it answers."""

    kept: Kept
    score: float
    matched: tuple[str, ...]
    asked: Asked


@dataclass(frozen=True, slots=True)
class _Candidate:
    """An indexed note: its place, by day from the newest on; its words and tags."""

    place: int
    words: tuple[str, ...]


def search(
    archive: Archive, lexicon: Lexicon, query: str, filters: Filters, limit: int, order: Order = "best"
) -> list[Result]:
    """What answers a query, best first (of equals the newest) or newest first.

    Quoted phrases must be said; as they were typed comes before other inflections. Where an athlete is named, notes of
    theirs with all else that is asked for come first. A concept is found in every wording of it, a word in every
    inflection, and a word that the log does not know as the nearest that it knows. Where no note has all that is asked
    for, those come that have most of it.
    """
    asked = ask(archive.db, lexicon, query)
    found = _newest(archive, asked, filters, limit) if order == "newest" else _best(archive, asked, filters, limit)
    entries = archive.entries(candidate.place & 0xFFFFFFFF for candidate, _ in found)
    return [
        Result(kept, round(score, 3), _reasons(asked, candidate), asked)
        for kept, (candidate, score) in zip(entries, found, strict=True)
    ]


def _best(archive: Archive, asked: Asked, filters: Filters, limit: int) -> list[tuple[_Candidate, float]]:
    pool: dict[int, _Candidate] = {}
    whole: set[int] = set()
    index = _Index(archive, asked, filters)
    for looser, way in enumerate(_ways(asked)):
        pool |= {c.place: c for c in index.newest(way, max(_POOL, limit))}
        if not looser:
            whole = {place for place, c in pool.items() if not asked.athletes.isdisjoint(c.words)}
        if len(pool) >= max(_ENOUGH, limit):
            break
    scores = {place: _score(asked, candidate) for place, candidate in pool.items()}
    most = max(scores.values(), default=0.0)
    for place in _saying(archive, asked.verbatim, pool):
        scores[place] += 2 * most
    for place in whole:
        scores[place] += most
    scored = [(candidate, scores[place]) for place, candidate in pool.items()]
    scored.sort(key=lambda found: (-round(found[1], 3), found[0].place))
    return scored[:limit]


def _saying(archive: Archive, phrases: Sequence[str], places: Iterable[int]) -> list[int]:
    """Places of notes whose quotes hold all phrases as they were typed, not in another inflection."""
    if not phrases:
        return []
    wanted = [_as_typed(said) for said in phrases]
    rows = archive.db.execute(
        "SELECT p.value AS place, e.quote FROM json_each(?) p JOIN entry e ON e.number = p.value & 0xFFFFFFFF",
        (json.dumps(list(places)),),
    )
    return [place for place, quote in rows if all(said.search(plain(quote)) for said in wanted)]


def _as_typed(phrase: str) -> re.Pattern[str]:
    return re.compile(r"\b" + r"\W+".join(re.findall(r"\w+", phrase)) + r"\b")


def _newest(archive: Archive, asked: Asked, filters: Filters, limit: int) -> list[tuple[_Candidate, float]]:
    index = _Index(archive, asked, filters)
    for way in _ways(asked):
        if found := index.newest(way, limit):
            return [(candidate, _score(asked, candidate)) for candidate in found]
    return []


def _ways(asked: Asked) -> Iterable[tuple[str, ...]]:
    """FTS5 expressions that must all match, to try in turn: all that is asked for, all but one thing, the weightiest
    few, each alone."""
    units = tuple(unit.match for unit in asked.units)
    n = len(units)
    ways = [units] if units or asked.phrases else []
    ways += [units[:i] + units[i + 1 :] for i in reversed(range(n)) if n > 2]
    ways += [units[:i] for i in range(n - 2, 1, -1)]
    ways += [(unit,) for unit in units if n > 1]
    ways += [(f"({' OR '.join(quoted([name]) for name in unit.near)})",) for unit in asked.units if unit.near]
    return dict.fromkeys(ways)


class _Index:
    """The notes that pass the filters and say the phrases, by what else they have."""

    def __init__(self, archive: Archive, asked: Asked, filters: Filters):
        self._db = archive.db
        self._needed = [*(quoted([name]) for name in filters.tags), *(quoted(phrase) for phrase in asked.phrases)]
        self._days = (filters.until and filters.until.isoformat(), filters.since and filters.since.isoformat())
        self._few = filters.athlete is not None and notes_with(self._db, filters.tags[0]) <= _FEW
        self._places: dict[str, frozenset[int]] = {}

    def newest(self, way: Sequence[str], limit: int) -> list[_Candidate]:
        """The newest notes that match all of some FTS5 expressions."""
        if not self._few:
            return self._candidates(self._matching("rowid, words", way, limit))
        places = sorted(frozenset.intersection(*map(self._having, way or [""])))[:limit]
        sql = "SELECT place, words FROM entry_words WHERE place IN (SELECT value FROM json_each(?)) ORDER BY place"
        return self._candidates(self._db.execute(sql, (json.dumps(places),)))

    def _having(self, match: str) -> frozenset[int]:
        """Where an expression matches; looked up once, however many ways it is part of."""
        if match not in self._places:
            self._places[match] = frozenset(row[0] for row in self._matching("rowid", [match] if match else [], -1))
        return self._places[match]

    def _matching(self, columns: str, way: Sequence[str], limit: int) -> sqlite3.Cursor:
        return self._db.execute(
            f"SELECT {columns} FROM entry_search WHERE entry_search MATCH ?"
            " AND rowid >= 9000000 - CAST(coalesce(julianday(?), 9e6) AS INTEGER) << 32"
            " AND rowid < 9000001 - CAST(coalesce(julianday(?), 0) AS INTEGER) << 32"
            " ORDER BY rowid LIMIT ?",
            (" AND ".join([*self._needed, *way]), *self._days, limit),
        )

    def _candidates(self, rows: Iterable[sqlite3.Row]) -> list[_Candidate]:
        return [_Candidate(place, tuple(words.split(" "))) for place, words in rows]


def _score(asked: Asked, candidate: _Candidate) -> float:
    """bm25 of the words (Robertson & Zaragoza 2009), more where two asked for stand side by side, and the tags."""
    weights = asked.weights
    counts: dict[str, int] = {}
    score, before = 0.0, 0.0
    for word in candidate.words:
        weight = weights.get(word, 0.0)
        if weight:
            counts[word] = counts.get(word, 0) + 1
            score += _NEIGHBOUR_BONUS * min(weight, before)
        if weight or word not in SMALL:
            before = weight
    norm = _K * (1 - _B + _B * len(candidate.words) / _USUAL_LENGTH)
    for word, count in counts.items():
        score += weights[word] * (1.0 if "_" in word else count * (_K + 1) / (count + norm))
    return score


def _reasons(asked: Asked, candidate: _Candidate) -> tuple[str, ...]:
    has = set(candidate.words)
    phrases = [f'says "{" ".join(phrase)}"' for phrase in asked.phrases]
    return tuple(dict.fromkeys([*(why for name, why in asked.reasons.items() if name in has), *phrases]))
