"""What all pages of one desk share."""

import gc
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.recordings import Recording
from notes.desk.jobs import Jobs, Tell
from notes.desk.security import Keys
from notes.intake import club_mishearings, hear, load_lexicon
from notes.lesson import Lesson
from notes.model import Transcript
from notes.reading.second.reader import SecondReader, second_reader
from notes.settings import CLUB, OWNER_LEXICON
from notes.sheet import Sheet
from notes.speech.audio import sound_length_ms
from notes.speech.models import DEFAULT
from notes.speech.terms import trade_words
from notes.speech.transcripts import parse_transcript
from notes.times import clock


@dataclass
class Desk:
    """One running desk. `lesson` is what was learned last since its start."""

    home: Path
    keys: Keys
    jobs: Jobs = field(default_factory=Jobs)
    lesson: Lesson | None = None

    def archive(self) -> Archive:
        """The log, opened for one request; use as a context manager."""
        return Archive(self.home)

    @property
    def lexicon(self) -> Lexicon:
        """The vocabulary, read again after the owner's file changed. Raises BadLexicon."""
        own = self.home / OWNER_LEXICON
        return _lexicon(own, own.stat().st_mtime_ns if own.exists() else 0)

    @property
    def second(self) -> SecondReader | None:
        """The second reader under today's vocabulary, as the club has taught it by now."""
        club = self.home / CLUB
        return _second(self.lexicon, self.home, club.stat().st_mtime_ns if club.exists() else 0)

    def hear(self, path: Path, sha256: str, sheet: Sheet, tell: Tell) -> Transcript:
        """The words of a recording, its progress told."""
        length, done = sound_length_ms(path), 0

        def progress(ms: int) -> None:
            nonlocal done
            done += ms
            tell(min(1.0, done / max(1, length)), f"Listening: {clock(done)} of {clock(length)}")

        tell(0.0, "Listening")
        trade = trade_words(sheet, self.lexicon, club_mishearings(self.home))
        return hear(path, sha256, trade, progress, DEFAULT)


@lru_cache(maxsize=1)
def _lexicon(own: Path, changed: int) -> Lexicon:
    lexicon = load_lexicon(own.parent)
    # It lives as long as the desk: the garbage collector need not go through all of it at every page.
    gc.collect()
    gc.freeze()
    return lexicon


@lru_cache(maxsize=1)
def _second(lexicon: Lexicon, home: Path, changed: int) -> SecondReader | None:
    return second_reader(lexicon, home)


# Parts of a template that are sent together; about the first screen of a review.
_PARTS_AT_ONCE = 400
_PAGES = Environment(
    loader=PackageLoader("notes.desk"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
)


Answer = Callable[[Request, dict[str, str]], Response]


def with_form(answer: Answer) -> Callable[[Request], Awaitable[Response]]:
    """An endpoint for a filled-in form, given to `answer` as text, without outer blanks."""

    async def endpoint(request: Request) -> Response:
        async with request.form(max_files=0, max_fields=50) as form:
            typed = {key: str(value).strip() for key, value in form.items()}
        return await run_in_threadpool(answer, request, typed)

    return endpoint


def desk_of(request: Request) -> Desk:
    """The desk that a request came to."""
    desk: Desk = request.app.state.desk
    return desk


def recording_of(request: Request) -> Recording:
    """The review that an address names."""
    with desk_of(request).archive() as archive:
        return recording_in(archive, request)


def recording_in(archive: Archive, request: Request) -> Recording:
    """The same, in a log that is open already."""
    recording = archive.recording(request.path_params["sha256"])
    if recording is None:
        raise HTTPException(404, "There is no such review in the log.")
    return recording


def talk_of(request: Request, recording: Recording) -> Transcript:
    """What was said in a review."""
    with desk_of(request).archive() as archive:
        heard, timed = archive.heard(recording.sha256)
    return parse_transcript(heard, recording.name, timed=timed)


def page(request: Request, template: str, status: int = 200, **facts: Any) -> HTMLResponse:
    """A template filled in; everything in `facts` is escaped."""
    return HTMLResponse(_PAGES.get_template(template).render(facts | _shared(request)), status)


def long_page(request: Request, template: str, **facts: Any) -> StreamingResponse:
    """The same, sent as it is filled in: the browser shows the top of it meanwhile."""
    filled = _PAGES.get_template(template).stream(facts | _shared(request))
    filled.enable_buffering(_PARTS_AT_ONCE)
    return StreamingResponse(filled, media_type="text/html")


def _shared(request: Request) -> dict[str, Any]:
    return {"change_key": desk_of(request).keys.change, "here": request.url.path}
