"""How fast search answers, and how fast a log of any size takes a session: `make bench`, `make bench-search`.

    python tests/benchmark/search.py 10000 100000

Beside it bare FTS5 with bm25, and tantivy, over the same notes with the same queries: the judged ones, athletes' names and
the commonest words, each over all notes and over one athlete's, everything asked once before it is timed. A query's time
is processor time: what it takes on a machine that does nothing else.
"""

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from club import NOTES_A_SESSION, athletes, club_sessions, keep_at_once
from engines import Fts5, Tantivy, Tapeside
from judged import judged_texts
from search_logs import keep

import lexicon
from notes.archive.archive import Archive
from notes.model import Observation

_ADDED = 20
_COMMONEST = ("right hand", "the jab", "hand", "hands up", "you are on the left", "left left right right")


def main(sizes: list[int]) -> None:
    """Print a table for each size."""
    vocabulary = lexicon.load()
    for size in sizes:
        names = athletes(min(300, max(30, size // 3_000)))
        with TemporaryDirectory() as folder:
            _measure(size, names, Path(folder), vocabulary)


def _measure(size: int, names: list[str], folder: Path, vocabulary: lexicon.Lexicon) -> None:
    print(f"log of {size:,} notes on {len(names)} athletes", flush=True)
    with Archive(folder / "home") as archive:
        built = _timed(lambda: keep_at_once(archive, club_sessions(size, names)))
        adding = sorted(_add_speeds(archive, names, vocabulary))
        print(f"  tapeside add: {adding[_ADDED // 2]:.0f} ms for a session of {NOTES_A_SESSION} notes in the median")
        print(f"  indexed at once: tapeside {built / size:.2f} ms a note", end="", flush=True)
        fts5, plain = Fts5(folder / "fts5.db", vocabulary), Tantivy(folder / "tantivy", vocabulary)
        for engine in (fts5, plain):
            took = _timed(lambda engine=engine: engine.add(_notes(size, names)))  # type: ignore[misc]
            print(f", {engine.name} {took / size:.2f}", end="", flush=True)
        print(
            f"\n  {'milliseconds a query':24}{'all notes: p50':>16}{'p95':>8}{'ratio':>8}{'one athlete: p50':>20}{'p95':>8}{'ratio':>8}"
        )
        ours: list[float] = []
        for searched in (Tapeside(archive, vocabulary), fts5, plain):
            figures = [_centiles(searched, names, athlete=athlete) for athlete in (None, names[0])]
            ours = ours or [p95 for _, p95 in figures]
            cells = [
                f"{p50:{w}.1f}{p95:8.1f}{mine / p95:8.2f}"
                for w, (p50, p95), mine in zip((16, 20), figures, ours, strict=True)
            ]
            print(f"  {searched.name:24}{''.join(cells)}", flush=True)


def _centiles(engine: Tapeside | Fts5 | Tantivy, names: list[str], athlete: str | None) -> tuple[float, float]:
    """Median and 95th centile of a query's processor time, in ms."""
    queries = [*judged_texts(), *_COMMONEST, *(f"{name} hands low" for name in names[:10])]
    for query in queries:
        engine.find(query, athlete, 20)
    times = []
    for query in queries:
        start = time.process_time()
        engine.find(query, athlete, 20)
        times.append((time.process_time() - start) * 1_000)
    times.sort()
    return times[len(times) // 2], times[len(times) * 95 // 100]


def _add_speeds(archive: Archive, names: list[str], vocabulary: lexicon.Lexicon) -> Iterator[float]:
    """Times in ms in which a few more sessions are added one by one, as `tapeside add` does."""
    for session in club_sessions(_ADDED * NOTES_A_SESSION, names):
        later = replace(session, recording=f"later-{session.recording}")
        yield _timed(lambda later=later: keep(archive, [later], vocabulary))  # type: ignore[misc]


def _notes(size: int, names: list[str]) -> Iterator[Observation]:
    for session in club_sessions(size, names):
        yield from session.observations


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1_000


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [10_000, 100_000])
