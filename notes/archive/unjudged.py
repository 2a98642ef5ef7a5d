"""What waits for a person's word, over all reviews, counted without making a single note."""

from dataclasses import dataclass

from notes.archive.archive import Archive


@dataclass(frozen=True, slots=True)
class Counts:
    """Of one review's notes on athletes: how many are in the log, and how many, offered ones too, nobody has judged."""

    logged: int = 0
    unjudged: int = 0


def counts(archive: Archive) -> dict[str, Counts]:
    """By the recording's SHA-256; a review without notes is left out."""
    rows = archive.db.execute(
        "SELECT recording, sum(logged), sum(unjudged) FROM ("
        " SELECT recording, count(*) AS logged, 0 AS unjudged FROM entry"
        "  WHERE role = 'athlete' AND verdict IS NOT 'struck' GROUP BY recording"
        " UNION ALL SELECT recording, 0, count(*) FROM unjudged GROUP BY recording) GROUP BY recording"
    )
    return {recording: Counts(logged, waiting) for recording, logged, waiting in rows}


def least_sure(archive: Archive, recording_sha256: str | None, most: int) -> tuple[list[tuple[str, str]], int]:
    """Recording and id of what nobody has judged, of one recording or of all, nearest to an even chance first; so many
    at most. And how many there are in all."""
    here = "FROM unjudged WHERE ?1 IS NULL OR recording = ?1"
    rows = archive.db.execute(
        f"SELECT recording, id {here} ORDER BY abs(confidence - 0.5), id LIMIT ?2", (recording_sha256, most)
    )
    found = [(recording, name) for recording, name in rows]
    total: int = archive.db.execute(f"SELECT count(*) {here}", (recording_sha256,)).fetchone()[0]
    return found, total
