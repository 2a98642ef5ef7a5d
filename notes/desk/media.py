"""The sound and footage of a review, in ranges as players ask for them."""

from functools import lru_cache
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from notes.archive.leftovers import PROXIES
from notes.desk.desk import Desk, desk_of, recording_of
from notes.desk.jobs import Tell
from notes.desk.proxy import make_proxy, plays_in_browsers
from notes.errors import BadRecording


def sound(request: Request) -> Response:
    """The coach's recording."""
    return _file(recording_of(request).path)


def footage(request: Request) -> Response:
    """The footage, or its copy for browsers."""
    recording = recording_of(request)
    if recording.footage is None:
        raise HTTPException(404, "This review has no footage.")
    return _file(shown_as(desk_of(request), recording.sha256, recording.footage))


def shown_as(desk: Desk, sha256: str, footage: Path) -> Path | None:
    """The file to play: the footage itself, its finished copy, or None while there is no such copy.

    Raises BadRecording when the footage cannot be read.
    """
    if not footage.is_file():
        raise BadRecording(f'The footage is not where it was: "{footage}"')
    if _plays(footage, footage.stat().st_mtime_ns):
        return footage
    copy = desk.home / PROXIES / f"{sha256}.mp4"
    return copy if copy.is_file() else None


def start_copy(desk: Desk, sha256: str, footage: Path) -> int:
    """Make the copy in the background; the number of that job, the same one while it is under way."""

    def work(tell: Tell) -> str:
        make_proxy(footage, desk.home / PROXIES / f"{sha256}.mp4", lambda share: tell(share, "copying the footage"))
        return f"/reviews/{sha256}"

    return desk.jobs.start_once(f"Making a copy of {footage.name} that browsers play", work)


@lru_cache(maxsize=256)
def _plays(footage: Path, changed: int) -> bool:
    return plays_in_browsers(footage)


def _file(path: Path | None) -> Response:
    if path is None or not path.is_file():
        raise HTTPException(404, "This file is not where it was.")
    return FileResponse(path)


routes = [
    Route("/media/{sha256}/sound", sound),
    Route("/media/{sha256}/footage", footage),
]
