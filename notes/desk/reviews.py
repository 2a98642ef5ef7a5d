"""The list of reviews, and one review as a script page."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.archive.recordings import Recording
from notes.archive.unjudged import Counts, counts
from notes.counting import many
from notes.desk.desk import Desk, desk_of, long_page, page, recording_of, talk_of
from notes.desk.margin import margin
from notes.desk.media import shown_as, start_copy
from notes.desk.script import script
from notes.errors import BadRecording


def show_all(request: Request) -> Response:
    """All reviews, the newest first."""
    with desk_of(request).archive() as archive:
        of_each = counts(archive)
        told = [_told(one, of_each.get(one.sha256, Counts())) for one in reversed(archive.recordings())]
    return page(request, "reviews.html", reviews=told)


def show(request: Request) -> Response:
    """One review."""
    desk, kept = desk_of(request), recording_of(request)
    with desk.archive() as archive:
        notes = margin(archive, desk.lexicon, kept)
        told = _told(kept, counts(archive).get(kept.sha256, Counts()))
    parts = script(talk_of(request, kept), notes, kept.sheet)
    return long_page(request, "script.html", review=told | _media(desk, kept), parts=parts)


def _told(kept: Recording, notes: Counts) -> dict[str, Any]:
    return {
        "sha256": kept.sha256,
        "name": kept.name,
        "day": kept.day.isoformat(),
        "who": ", ".join(athlete.name for athlete in kept.sheet.athletes),
        "told": f"{kept.sheet.sport}, {many(notes.logged, 'note')}",
        "waiting": notes.unjudged,
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
