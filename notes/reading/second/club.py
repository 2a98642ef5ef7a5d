"""What a club has taught the second reader: changes of its numbers, in one small file of the data home.

The file holds names of ids and features, and numbers; no words that were said, and nobody's name. It is made for the
weights that it changes, and ignored beside others.
"""

import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import click
import numpy as np
from numpy.typing import NDArray

from lexicon.entries import Sort
from notes.settings import CLUB, CLUB_BEFORE

Changes = Mapping[str, NDArray[np.float32]]
# What can be learned: by what it is heard that a kind begins, the vectors of two sorts of id, the weights of merging.
BEGINS = "begins"
NAMED: tuple[Sort, ...] = ("fault", "technique")
MERGING = "merging"
_SHAPES: dict[str, tuple[int, ...]] = {BEGINS: (384,), "fault": (192,), "technique": (192,), MERGING: ()}


@dataclass(frozen=True, slots=True)
class Club:
    """Changes by part and by name: of a kind's vector (384,), of an id's (192,), of the weight of a feature of merging
    (). `made_for` is the fingerprint of the weights that they change."""

    made_for: str
    changes: Mapping[str, Changes]

    def change_of(self, part: str) -> Changes:
        """The changes of a part; none where nothing was learned of it."""
        return self.changes.get(part, {})

    @property
    def sha256(self) -> str:
        """A fingerprint of what was learned."""
        return hashlib.sha256(self._data()).hexdigest()

    def keep(self, home: Path) -> None:
        """Write it to a home, wholly or not at all; what was learned there before is put aside for `go_back`."""
        path, data = home / CLUB, self._data()
        if path.is_file():
            if path.read_bytes() == data:
                return
            path.replace(home / CLUB_BEFORE)
        unfinished = home / f"{CLUB}.part"
        unfinished.touch(mode=0o600)
        unfinished.write_bytes(data)
        unfinished.replace(path)

    def _data(self) -> bytes:
        arrays: dict[str, NDArray[np.generic]] = {"made_for": np.array(self.made_for)}
        for part, changes in sorted(self.changes.items()):
            arrays[f"{part}.names"] = np.array(list(changes))
            arrays[part] = np.stack([np.asarray(change, np.float32) for change in changes.values()])
        data = io.BytesIO()
        np.savez(data, allow_pickle=False, **arrays)
        return data.getvalue()


def club_of(home: Path, made_for: str) -> Club | None:
    """What a home's club has taught, if anything; a sentence on stderr where its file cannot be used."""
    path = home / CLUB
    if not path.is_file():
        return None
    try:
        club = _read(path)
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        click.echo(f'"{path}" is damaged and is not used; learn again with: tapeside learn', err=True)
        return None
    if club.made_for != made_for:
        click.echo(f'"{path}" was learned for another version; learn again with: tapeside learn', err=True)
        return None
    return club


def go_back(home: Path) -> bool | None:
    """Go back to what was learned before (True), or to the model as it comes (False); None where nothing is learned."""
    path, before = home / CLUB, home / CLUB_BEFORE
    if before.is_file():
        before.replace(path)
        return True
    if path.is_file():
        path.unlink()
        return False
    return None


def _read(path: Path) -> Club:
    """Raises OSError, ValueError, KeyError, EOFError or BadZipFile where it is damaged."""
    with np.load(path, allow_pickle=False) as data:
        changes: dict[str, Changes] = {}
        for part in (part for part in _SHAPES if part in data):
            names, values = map(str, data[f"{part}.names"]), data[part].astype(np.float32)
            if values.shape[1:] != _SHAPES[part] or not np.isfinite(values).all():
                raise ValueError(part)
            changes[part] = dict(zip(names, values, strict=True))
        return Club(str(data["made_for"]), changes)
