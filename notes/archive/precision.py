"""How much of what the program read a person let stand, month by month.

Only notes that somebody has judged count. People judge those that look wrong sooner, so the share is rather too low
than too high. Notes that a person added are no reading of the program's and are left out. The month is the session's.
"""

from dataclasses import dataclass

from notes.archive.archive import Archive
from notes.rates import share_limits


@dataclass(frozen=True, slots=True)
class Month:
    """The judged notes of a month, such as "2031-03"; `share` of them not struck, with exact 95 % limits."""

    month: str
    kept: int
    amended: int
    struck: int
    share: float
    low: float
    high: float


def precision_by_month(archive: Archive) -> list[Month]:
    """All months with a judged note, oldest first."""
    rows = archive.db.execute(
        "SELECT substr(e.day, 1, 7) AS month, sum(e.verdict = 'kept') AS kept, sum(e.verdict = 'amended') AS amended,"
        " sum(e.verdict = 'struck') AS struck"
        " FROM entry e JOIN verdict v ON v.id = e.thread WHERE e.verdict IS NOT NULL AND NOT v.added"
        " GROUP BY 1 ORDER BY 1"
    )
    found = []
    for row in rows:
        stood, judged = row["kept"] + row["amended"], row["kept"] + row["amended"] + row["struck"]
        low, high = share_limits(stood, judged)
        found.append(Month(row["month"], row["kept"], row["amended"], row["struck"], stood / judged, low, high))
    return found
