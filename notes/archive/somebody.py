"""Who is to be forgotten: an athlete of the log, or somebody who is only named on sheets, as an opponent or coach."""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from rapidfuzz import process

from notes.archive.archive import Archive
from notes.archive.people import resolve
from notes.archive.redaction import FORGOTTEN, names_pattern
from notes.archive.roster import ids_of, names_of
from notes.archive.unfinished import unfinished
from notes.errors import UnknownAthlete


@dataclass(frozen=True)
class Somebody:
    """A person with all their names; `ids` are those of the log's athletes that they are, if any. `pattern` matches
    their names and no one else's."""

    name: str
    ids: frozenset[int]
    names: tuple[str, ...]
    pattern: re.Pattern[str]

    @property
    def folded(self) -> frozenset[str]:
        """Their names in small letters, as sheets are compared by."""
        return frozenset(name.casefold() for name in self.names)


def somebody(archive: Archive, name: str) -> Somebody:
    """The person of a name or alias: an athlete first. Raises UnknownAthlete with the nearest name, also for an alias
    of several people."""
    db = archive.db
    known = [row[0] for row in db.execute("SELECT name FROM person UNION SELECT name FROM alias")]
    on_sheets = list(_on_sheets(archive))
    others = [*known, *(called for names in on_sheets for called in names)]
    if person := resolve(db, name):
        names = names_of(db, person)
        return Somebody(person.name, frozenset(ids_of(db, person)), tuple(names), _pattern(names, others))
    theirs = [names for names in on_sheets if name.casefold() in map(str.casefold, names)]
    chief = {names[0].casefold(): names[0] for names in theirs}
    if not chief:
        near = process.extractOne(name, others, processor=str.casefold, score_cutoff=50)
        guess = f'; did you mean "{near[0]}"?' if near else ""
        raise UnknownAthlete(f'Nobody called "{name}" in the log, neither athlete nor opponent{guess}')
    if len(chief) > 1 and name.casefold() not in chief:
        raise UnknownAthlete(f'"{name}" may be {" or ".join(sorted(chief.values()))}; write the name itself')
    one = name.casefold() if name.casefold() in chief else next(iter(chief))
    athletes = set(map(str.casefold, known))
    called = [n for names in theirs if names[0].casefold() == one for n in names if n.casefold() not in athletes]
    return Somebody(chief[one], frozenset(), tuple(dict.fromkeys(called)), _pattern(called, others))


def _pattern(names: Iterable[str], others: Iterable[str]) -> re.Pattern[str]:
    ours = {name.casefold() for name in names}
    return names_pattern(names, [other for other in others if other.casefold() not in ours])


def _on_sheets(archive: Archive) -> Iterator[tuple[str, ...]]:
    """The names of everybody on a sheet, of kept recordings and of unfinished narrations."""
    sheets: list[dict[str, Any]] = [json.loads(row[0]) for row in archive.db.execute("SELECT sheet FROM recording")]
    sheets += [narration.sheet for narration in unfinished(archive.path.parent)]
    for sheet in sheets:
        for one in (*sheet.get("athletes", ()), sheet.get("opponent"), sheet.get("coach")):
            if one and one["name"] != FORGOTTEN:
                yield (one["name"], *one.get("aliases", ()))
