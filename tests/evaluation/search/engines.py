"""Search engines side by side: tapeside's own over a real log, bare FTS5 with bm25, and tantivy.

All are given the same notes. The other two get what an engine can index without knowing the trade: the quote, the
labels and meanings of the note's ids, and the athlete's name. A query finds any of its words, quoted phrases whole.
"""

import re
import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import tantivy

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.search import Filters, search
from notes.model import Observation

_PARTS = re.compile(r'"([^"]*)"|(\w+)')


class Tapeside:
    """tapeside's search over an archive; notes are known by their ids."""

    name = "tapeside"

    def __init__(self, archive: Archive, lexicon: Lexicon):
        self._archive, self._lexicon = archive, lexicon

    def find(self, query: str, athlete: str | None = None, limit: int = 10) -> list[str]:
        """Ids of the best notes."""
        person = self._archive.athlete(athlete) if athlete else None
        return [r.kept.observation.id for r in search(self._archive, self._lexicon, query, Filters(person), limit)]


class Fts5:
    """SQLite's FTS5 as it comes, ranked by its bm25."""

    name = "FTS5 bm25"

    def __init__(self, path: Path, lexicon: Lexicon):
        self._db = sqlite3.connect(path, isolation_level=None)
        self._lexicon = lexicon
        self._db.execute(
            "CREATE VIRTUAL TABLE note USING fts5"
            " (id UNINDEXED, athlete, quote, meaning, tokenize = 'porter unicode61 remove_diacritics 2')"
        )

    def add(self, notes: Iterable[Observation]) -> None:
        """Index notes in one transaction."""
        self._db.execute("BEGIN")
        rows = ((o.id, o.athlete, o.quote, meaning_of(o, self._lexicon)) for o in notes)
        self._db.executemany("INSERT INTO note VALUES (?, ?, ?, ?)", rows)
        self._db.execute("COMMIT")

    def find(self, query: str, athlete: str | None = None, limit: int = 10) -> list[str]:
        """Ids of the best notes."""
        phrases = [phrase or word for phrase, word in _PARTS.findall(query)]
        match = "(" + " OR ".join(f'"{phrase}"' for phrase in phrases) + ")"
        if athlete:
            match = f'athlete : "{athlete}" AND {match}'
        rows = self._db.execute("SELECT id FROM note WHERE note MATCH ? ORDER BY rank LIMIT ?", (match, limit))
        return [row[0] for row in rows]


class Tantivy:
    """tantivy with its English stemmer, ranked by its bm25; `typos` lets each word differ by one letter."""

    def __init__(self, path: Path, lexicon: Lexicon, *, typos: bool = False):
        schema = tantivy.SchemaBuilder()
        schema.add_text_field("id", stored=True, tokenizer_name="raw")
        for field in ("athlete", "quote", "meaning"):
            schema.add_text_field(field, stored=False, tokenizer_name="en_stem")
        path.mkdir(exist_ok=True)
        self._index = tantivy.Index(schema.build(), path=str(path))
        self._lexicon = lexicon
        self.allow_typos(typos)

    def allow_typos(self, typos: bool) -> None:
        """Whether a word may differ by one letter from now on."""
        self.name = "tantivy, typos allowed" if typos else "tantivy"
        fields = ("athlete", "quote", "meaning")
        self._options: dict[str, Any] = {"fuzzy_fields": dict.fromkeys(fields, (False, 1, True))} if typos else {}

    def add(self, notes: Iterable[Observation]) -> None:
        """Index notes and wait until they are found."""
        writer = self._index.writer(heap_size=256_000_000, num_threads=1)
        for o in notes:
            meaning = meaning_of(o, self._lexicon)
            writer.add_document(tantivy.Document(id=o.id, athlete=o.athlete, quote=o.quote, meaning=meaning))
        writer.commit()
        writer.wait_merging_threads()
        self._index.reload()

    def find(self, query: str, athlete: str | None = None, limit: int = 10) -> list[str]:
        """Ids of the best notes."""
        parsed, _ = self._index.parse_query_lenient(query, ["athlete", "quote", "meaning"], **self._options)
        if athlete:
            of_athlete, _ = self._index.parse_query_lenient(f'athlete:"{athlete}"', ["athlete"])
            both = [(tantivy.Occur.Must, of_athlete), (tantivy.Occur.Must, parsed)]
            parsed = tantivy.Query.boolean_query(both)
        searcher = self._index.searcher()
        return [searcher.doc(address)["id"][0] for _, address in searcher.search(parsed, limit).hits]


def meaning_of(o: Observation, lexicon: Lexicon) -> str:
    """Labels and meanings of a note's ids, as text."""
    known = (lexicon.entries.get(i) for i in (*o.techniques, *o.faults, *o.fixes))
    return ". ".join(f"{entry.label}, {entry.means}" for entry in known if entry)
