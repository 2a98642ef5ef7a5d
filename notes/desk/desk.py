"""What all pages of one desk share."""

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from lexicon import Lexicon, load
from notes.archive.archive import Archive
from notes.desk.jobs import Jobs
from notes.desk.security import Keys
from notes.reading.second.reader import SecondReader, second_reader
from notes.settings import OWNER_LEXICON


@dataclass(frozen=True)
class Desk:
    """One running desk."""

    home: Path
    keys: Keys
    jobs: Jobs = field(default_factory=Jobs)

    def archive(self) -> Archive:
        """The log, opened for one request; use as a context manager."""
        return Archive(self.home)

    @property
    def lexicon(self) -> Lexicon:
        """The vocabulary, read again after the owner's file changed. Raises LexiconError."""
        own = self.home / OWNER_LEXICON
        return _lexicon(own, own.stat().st_mtime_ns if own.exists() else 0)

    @property
    def second(self) -> SecondReader | None:
        """The second reader under today's vocabulary."""
        return _second(self.lexicon)


@lru_cache(maxsize=1)
def _lexicon(own: Path, changed: int) -> Lexicon:
    return load(own)


@lru_cache(maxsize=1)
def _second(lexicon: Lexicon) -> SecondReader | None:
    return second_reader(lexicon)


_PAGES = Environment(
    loader=PackageLoader("notes.desk"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
)


def desk_of(request: Request) -> Desk:
    """The desk that a request came to."""
    desk: Desk = request.app.state.desk
    return desk


def page(request: Request, template: str, status: int = 200, **facts: Any) -> HTMLResponse:
    """A template filled in; everything in `facts` is escaped."""
    text = _PAGES.get_template(template).render(change_key=desk_of(request).keys.change, here=request.url.path, **facts)
    return HTMLResponse(text, status)
