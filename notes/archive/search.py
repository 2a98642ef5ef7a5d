"""Search over all sessions: words, concepts and near spellings."""

import re
import unicodedata
from dataclasses import dataclass
from datetime import date

from rapidfuzz import fuzz, process

from lexicon import Lexicon
from lexicon.tokens import tokenize
from notes.archive.archive import Archive, Kept, KnownPerson

_WORD = re.compile(r"\w+")
_STOP = frozenset("a an and at by for from in is it of off on or that the to up with you your".split())
_CONCEPT_BONUS = 10.0
_POOL = 2_000


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

    def passes(self, kept: Kept) -> bool:
        """Whether an observation is wanted."""
        o = kept.observation
        return (
            (self.kind is None or o.kind == self.kind)
            and (self.fault is None or self.fault in o.faults)
            and (self.technique is None or self.technique in o.techniques)
            and (self.round is None or o.round == self.round)
            and (self.since is None or kept.day >= self.since)
            and (self.until is None or kept.day <= self.until)
        )


@dataclass(frozen=True, slots=True)
class Result:
    """A found observation, its score (higher is better) and why it matched."""

    kept: Kept
    score: float
    matched: tuple[str, ...]


def search(archive: Archive, lexicon: Lexicon, query: str, filters: Filters, limit: int) -> list[Result]:
    """The best matches for a query, best first, then newest.

    The query's concepts match every wording of them; its words match by stem, respelt where the log knows no such
    word; both together rank highest. Word scores are FTS5's bm25 with its sign turned.
    """
    concepts = sorted(_concepts(lexicon, query))
    words = [_known_word(archive, word) for word in _words(query)]
    scores: dict[str, float] = {}
    reasons: dict[str, list[str]] = {}
    for concept in concepts:
        for found in _meaning(archive, filters, concept):
            scores[found] = scores.get(found, 0.0) + _CONCEPT_BONUS
            reasons.setdefault(found, []).append(f"means {concept}")
    if words:
        text = " OR ".join(f'"{word}"' for word in words)
        rows = archive.db.execute(
            "SELECT e.id, -bm25(entry_search, 2.0, 1.0), e.quote"
            " FROM entry_search JOIN entry e ON e.number = entry_search.rowid"
            " WHERE entry_search MATCH ? ORDER BY rank LIMIT ?",
            (text, _POOL),
        )
        for found, score, quote in rows:
            said = [word for word in words if word[:4] in quote.lower()]
            if concepts and found not in scores and len(said) < len(words):
                continue
            scores[found] = scores.get(found, 0.0) + score
            reasons.setdefault(found, []).extend(f'says "{word}"' for word in said)
    kept = archive.observations(scores)
    results = [
        Result(kept[i], round(scores[i], 3), tuple(dict.fromkeys(reasons.get(i, []))))
        for i in scores
        if i in kept and kept[i].observation.role == "athlete" and _is_of(kept[i], filters) and filters.passes(kept[i])
    ]
    results.sort(key=lambda r: (-r.score, -r.kept.day.toordinal(), r.kept.observation.start_ms, r.kept.observation.id))
    return results[:limit]


def _is_of(kept: Kept, filters: Filters) -> bool:
    return filters.athlete is None or kept.observation.athlete == filters.athlete.name


def _meaning(archive: Archive, filters: Filters, concept: str) -> list[str]:
    narrow = " AND e.person = ?" if filters.athlete else ""
    values = (concept, filters.athlete.id) if filters.athlete else (concept,)
    rows = archive.db.execute(
        f"SELECT DISTINCT e.id FROM entry_term t JOIN entry e ON e.number = t.entry WHERE t.id = ?{narrow}", values
    )
    return [row[0] for row in rows]


def _concepts(lexicon: Lexicon, query: str) -> set[str]:
    """Ids that the query names: by id or label, else by what the lexicon reads in it."""
    slug = "-".join(_words(query, keep_small=True))
    if slug in lexicon.entries:
        return {slug}
    tokens, _ = lexicon.respell(tokenize(query))
    return {hit.id for hit in lexicon.find_entries(tokens, 0, len(tokens), "orthodox")}


def _words(query: str, *, keep_small: bool = False) -> list[str]:
    plain = unicodedata.normalize("NFKD", query.replace("’", "'").lower())
    words = _WORD.findall("".join(c for c in plain if not unicodedata.combining(c)))
    return words if keep_small else [w for w in words if w not in _STOP and len(w) > 1]


def _known_word(archive: Archive, word: str) -> str:
    """The word, or the log's nearest spelling where the log has no such stem."""
    hit = archive.db.execute("SELECT 1 FROM entry_search WHERE entry_search MATCH ? LIMIT 1", (f'"{word}"',)).fetchone()
    if hit or len(word) < 4:
        return word
    vocabulary = [row[0] for row in archive.db.execute("SELECT term FROM entry_words WHERE length(term) > 2")]
    near = process.extractOne(word, vocabulary, scorer=fuzz.ratio, score_cutoff=72)
    return near[0] if near else word
