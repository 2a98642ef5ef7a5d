"""How well search finds what a coach types: `make bench`. nDCG@10 and MRR over the judged queries, beside others."""

import sys
from collections.abc import Sequence
from pathlib import Path
from statistics import fmean
from tempfile import TemporaryDirectory

from engines import Fts5, Tantivy, Tapeside
from judged import Query, corpus_notes, judged_queries
from measures import ndcg, reciprocal_rank
from search_logs import corpus_sessions, keep

import lexicon
from notes.archive.archive import Archive

Engine = Tapeside | Fts5 | Tantivy


def main(verbose: bool) -> None:
    """Print the table; `verbose`: each tuning query with what was reached."""
    vocabulary, queries = lexicon.load(), judged_queries()
    with TemporaryDirectory() as folder, Archive(Path(folder) / "home") as archive:
        sessions = list(corpus_sessions())
        keep(archive, sessions, vocabulary)
        notes = [o for session in sessions for o in session.observations]
        fts5 = Fts5(Path(folder) / "fts5.db", vocabulary)
        plain = Tantivy(Path(folder) / "plain", vocabulary)
        fuzzy = Tantivy(Path(folder) / "fuzzy", vocabulary, typos=True)
        for other in (fts5, plain, fuzzy):
            other.add(notes)
        engines: list[Engine] = [Tapeside(archive, vocabulary), fts5, plain, fuzzy]
        print(f"search: {len(queries)} judged queries over {len(corpus_notes())} notes; nDCG@10 / MRR")
        print(f"  {'':24}{'tuned on':>15}{'held back':>15}" + "".join(f"{sort:>15}" for sort in _SORTS))
        for engine in engines:
            parts = [queries[::2], queries[1::2], *([q for q in queries[1::2] if q.sort == s] for s in _SORTS)]
            print(f"  {engine.name:24}" + "".join(f"{_figures(engine, part):>15}" for part in parts))
        if verbose:
            for query in queries[::2]:
                reached = "".join(f"{ndcg(_grades(e, query), query.grades.values()):7.2f}" for e in engines)
                print(f"{reached}  {query.text}")


_SORTS = ("concept", "athlete", "phrase", "words")


def _figures(engine: Engine, queries: Sequence[Query]) -> str:
    found = [(_grades(engine, query), query) for query in queries]
    gain = fmean(ndcg(grades, query.grades.values()) for grades, query in found)
    return f"{gain:.3f} / {fmean(reciprocal_rank(grades) for grades, _ in found):.3f}"


def _grades(engine: Engine, query: Query) -> list[int]:
    return [query.grades.get(int(note), 0) for note in engine.find(query.text)]


if __name__ == "__main__":
    main("--each" in sys.argv)
