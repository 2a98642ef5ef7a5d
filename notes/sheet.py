"""The sheet: who and what is on the footage. YAML in, one frozen value out; nothing wrong gets past."""

from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, ValidationError, model_validator
from rapidfuzz import process

from lexicon.yaml_files import Located, read_yaml
from notes.errors import BadSheet
from notes.times import Rounds, to_ms

Sport = Literal["boxing", "kickboxing", "muay-thai", "mma", "grappling"]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]
Seconds = Annotated[float, Field(ge=0, le=86_400, allow_inf_nan=False)]

EXAMPLES = {
    "sport": "sport: kickboxing",
    "date": "date: 2031-03-14",
    "coach": "coach: {name: Imre}",
    "athletes": "athletes: [{name: Mara, stance: orthodox}]",
    "opponent": "opponent: {name: Devon}",
    "rounds": "rounds: {length: 180, rest: 60, first_starts_at: 5}",
    "narration": "narration: live",
    "clock": "clock: video",
    "footage": "footage: sparring.mp4",
    "not_coach": "not_coach: [[61.5, 70], [102, 110]]",
}


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Coach(_Part):
    """The speaker."""

    name: Name


class Person(_Part):
    """Someone on the footage, and what else they are called."""

    name: Name
    aliases: tuple[Name, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The name, then the aliases."""
        return (self.name, *self.aliases)


class Athlete(Person):
    """A person under review."""

    stance: Literal["orthodox", "southpaw"] | None = None
    junior: bool = False


def _forwards(span: tuple[float, float]) -> tuple[float, float]:
    if span[0] >= span[1]:
        raise ValueError(f"the stretch {list(span)} must end after it starts (correct: {EXAMPLES['not_coach']})")
    return span


Span = Annotated[tuple[Seconds, Seconds], AfterValidator(_forwards)]


class RoundTimes(_Part):
    """Round clock in seconds."""

    length: Annotated[float, Field(gt=0, le=3_600, allow_inf_nan=False)]
    rest: Seconds = 60.0
    first_starts_at: Seconds = 0.0


class Sheet(_Part):
    """The facts that come with a recording."""

    sport: Sport
    athletes: Annotated[tuple[Athlete, ...], Field(min_length=1)]
    day: date | None = Field(None, alias="date")
    coach: Coach | None = None
    opponent: Person | None = None
    rounds: RoundTimes | None = None
    narration: Literal["live", "memo"] = "live"
    clock: Literal["video", "elapsed", "left"] = "video"
    footage: Name | None = None
    not_coach: tuple[Span, ...] = ()

    @model_validator(mode="after")
    def _names_are_distinct(self) -> "Sheet":
        seen: set[str] = set()
        for name in self.names:
            if name.casefold() in seen:
                raise ValueError(f'the name or alias "{name}" stands twice; give each person names of their own')
            seen.add(name.casefold())
        return self

    @property
    def people(self) -> tuple[Person, ...]:
        """Everyone on the footage, athletes first."""
        return (*self.athletes, *((self.opponent,) if self.opponent else ()))

    @property
    def names(self) -> tuple[str, ...]:
        """All names, then all aliases, athletes first."""
        return (*(p.name for p in self.people), *(alias for p in self.people for alias in p.aliases))

    @property
    def round_clock(self) -> Rounds | None:
        """The sheet's rounds in ms, if it gives them."""
        if self.rounds is None:
            return None
        return Rounds(to_ms(self.rounds.length), to_ms(self.rounds.rest), to_ms(self.rounds.first_starts_at))

    @property
    def not_coach_ms(self) -> tuple[tuple[int, int], ...]:
        """The stretches of the recording in which somebody else speaks, in ms."""
        return tuple((to_ms(start), to_ms(end)) for start, end in self.not_coach)

    def as_json(self) -> dict[str, Any]:
        """The sheet with its own keys, empty ones left out."""
        return self.model_dump(mode="json", by_alias=True, exclude_none=True)


def read_sheet(path: Path) -> Sheet:
    """The sheet in a YAML file. Raises BadSheet naming file, line and key, with a correct example."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise BadSheet(f'No sheet at "{path}"; write one (see README, "The sheet") and name it with --sheet') from None
    except IsADirectoryError:
        raise BadSheet(f'"{path}" is a folder; name the sheet file in it') from None
    except UnicodeDecodeError:
        raise BadSheet(f'"{path}" is not a text file in UTF-8; a sheet is a short YAML text') from None
    except OSError as error:
        raise BadSheet(f'Cannot read the sheet "{path}" ({error.strerror})') from None
    return parse_sheet(text, str(path))


def parse_sheet(text: str, name: str) -> Sheet:
    """The sheet in a YAML text; `name` stands in error messages."""
    located = read_yaml(text, name, BadSheet)
    if located.data is None:
        raise BadSheet(f'{name}: the sheet is empty; it needs at least "sport" and "athletes"')
    if not isinstance(located.data, dict):
        raise BadSheet(f"{name}:1: a sheet is a list of keys, such as {EXAMPLES['sport']}")
    try:
        return Sheet.model_validate(located.data)
    except ValidationError as error:
        raise BadSheet(_first_fault(error, located, name)) from None


def _first_fault(error: ValidationError, located: Located, name: str) -> str:
    faults = error.errors()
    fault = next((f for f in faults if f["type"] == "extra_forbidden"), faults[0])
    path = fault["loc"]
    key = next((part for part in reversed(path) if isinstance(part, str)), None)
    top = str(path[0]) if path else "athletes"
    where = f"{name}:{located.line(path)}"
    example = EXAMPLES.get(top, EXAMPLES["sport"])
    if fault["type"] == "extra_forbidden":
        near = process.extractOne(str(key), _keys_beside(path), score_cutoff=60)
        guess = f'; did you mean "{near[0]}"?' if near else ""
        example = EXAMPLES.get(near[0], example) if near and len(path) == 1 else example
        return f'{where}: unknown key "{key}"{guess} (correct: {example})'
    if fault["type"] == "missing" and isinstance(path[-1], int):
        return f'{where}: "{key}" lacks a value (correct: {example})'
    if fault["type"] == "missing":
        return f'{where}: key "{key}" is missing (correct: {example})'
    if fault["type"] == "value_error":
        return f"{where}: {fault['ctx']['error']}"
    if fault["type"] in ("tuple_type", "too_short"):
        return f'{where}: "{key}" must be a list with at least one entry (correct: {example})'
    if fault["type"].startswith("model"):
        return f'{where}: "{key}" must be a group of keys (correct: {example})'
    what = fault["msg"].replace("Input should be", "must be").split(", ")[0]
    return f'{where}: "{key}" {what}, not {_shown(fault["input"])} (correct: {example})'


def _keys_beside(path: tuple[int | str, ...]) -> list[str]:
    if len(path) == 1:
        return list(EXAMPLES)
    parts: dict[str, type[_Part]] = {"coach": Coach, "athletes": Athlete, "opponent": Person, "rounds": RoundTimes}
    part = parts.get(str(path[0]))
    return list(part.model_fields) if part else []


def _shown(value: object) -> str:
    text = "nothing" if value is None else f'"{value}"'
    return text if len(text) <= 60 else text[:57] + '…"'
