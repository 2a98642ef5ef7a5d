"""The list of reviews, and one review as a script page."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.archive.recordings import Recording
from notes.desk.desk import Desk, desk_of, long_page, page, recording_of, talk_of
from notes.desk.margin import margin
from notes.desk.media import shown_as, start_copy
from notes.desk.notes import Note
from notes.desk.script import script
from notes.errors import BadRecording


def show_all(request: Request) -> Response:
    """All reviews, the newest first."""
    desk = desk_of(request)
    with desk.archive() as archive:
        told = [_told(one, margin(archive, desk.lexicon, one)) for one in reversed(archive.recordings())]
    return page(request, "reviews.html", reviews=told)


def show(request: Request) -> Response:
    """One review."""
    desk, kept = desk_of(request), recording_of(request)
    with desk.archive() as archive:
        notes = margin(archive, desk.lexicon, kept)
    parts = script(talk_of(request, kept), notes, kept.sheet)
    return long_page(request, "script.html", review=_told(kept, notes) | _media(desk, kept), parts=parts)


def _told(kept: Recording, notes: list[Note]) -> dict[str, Any]:
    logged = [n for n in notes if not n.perhaps and n.kept.verdict != "struck"]
    return {
        "sha256": kept.sha256,
        "name": kept.name,
        "day": kept.day.isoformat(),
        "who": ", ".join(athlete.name for athlete in kept.sheet.athletes),
        "told": f"{kept.sheet.sport}, {len(logged)} note{'s' if len(logged) != 1 else ''}",
        "waiting": sum(n.kept.verdict is None for n in notes),
    }


def _media(desk: Desk, kept: Recording) -> dict[str, Any]:
    """Which players the page has, and what is told where one is missing."""
    told: dict[str, Any] = {"footage": False, "sound": False, "job": None, "missing": []}
    own = kept.path is not None and kept.path == kept.footage
    if kept.path and not own and kept.path.suffix.lower() not in _WRITTEN:
        told["sound"] = kept.path.is_file()
        if not told["sound"]:
            told["missing"].append(f"The recording is not where it was: {kept.path}. Its words can be read, not heard.")
    if kept.footage:
        try:
            if shown_as(desk, kept.sha256, kept.footage):
                told["footage"] = True
            else:
                told["job"] = start_copy(desk, kept.sha256, kept.footage)
        except BadRecording as error:
            told["missing"].append(str(error))
    return told


_WRITTEN = frozenset({".vtt", ".srt", ".txt", ".json"})

routes = [
    Route("/", show_all),
    Route("/reviews/{sha256}", show),
]
