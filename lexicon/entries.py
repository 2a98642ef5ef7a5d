"""The shape of one vocabulary entry, and of a find in a text."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

Sort = Literal["technique", "fault", "fix", "welfare"]
Sport = Literal["boxing", "kickboxing", "muay-thai", "mma", "grappling"]
Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$")]


class Drill(BaseModel):
    """A drill: what is done, how much of it ("3 x 2 min"), with what, and whether a partner strikes or holds in it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    do: str
    dose: str | None = None
    needs: Literal["alone", "partner", "bag", "pads"] = "alone"
    contact: bool = False


class Telling(BaseModel):
    """How a fault or fix is told to an athlete; all parts optional, see `data/telling.yaml`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    plain: str | None = None
    why: str | None = None
    cue: str | None = None
    sign: str | None = None
    safety: bool = False


class Entry(BaseModel):
    """One technique, fault, fix or welfare sign and the ways it is said.

    `say` holds patterns (see `patterns`): for a fault the bad action, for a fix the good one, so that grammar
    alone decides what a negation makes of it. A fix `answers` faults, the usual one first. A `loose` technique goes
    with almost any action and is named only where nothing more telling is. `hits` must be found by
    this entry and `misses` must not; an example that starts with "southpaw:" is read in that stance.
    `plain`, `why`, `cue`, `sign` and `safety` are for telling the athlete, not for reading.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Id
    sort: Sort
    means: str
    say: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    sports: tuple[Sport, ...] = ()
    kind_of: Id | None = None
    fixes: tuple[Id, ...] = ()
    techniques: tuple[Id, ...] = ()
    answers: tuple[Id, ...] = ()
    loose: bool = False
    why: str | None = None
    plain: str | None = None
    cue: str | None = None
    sign: str | None = None
    safety: bool = False
    drills: tuple[Drill, ...] = ()
    hits: Annotated[tuple[str, ...], Field(min_length=1)]
    misses: Annotated[tuple[str, ...], Field(min_length=1)]

    @property
    def label(self) -> str:
        """The id as a person reads it."""
        return self.id.replace("-", " ")


class OwnEntry(BaseModel):
    """An entry of the owner's file: new, or joined to a shipped one of the same id by one of the three marks."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Id
    sort: Sort | None = None
    means: str | None = None
    say: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    sports: tuple[Sport, ...] = ()
    kind_of: Id | None = None
    fixes: tuple[Id, ...] = ()
    techniques: tuple[Id, ...] = ()
    answers: tuple[Id, ...] = ()
    loose: bool | None = None
    why: str | None = None
    plain: str | None = None
    cue: str | None = None
    sign: str | None = None
    safety: bool | None = None
    drills: tuple[Drill, ...] = ()
    hits: tuple[str, ...] = ()
    misses: tuple[str, ...] = ()
    extends: bool = False
    replaces: bool = False
    removed: bool = False
