"""One queue of notes that nobody has judged, the least sure first."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.desk.desk import desk_of, page
from notes.desk.margin import margin

_MOST = 40


def show(request: Request) -> Response:
    """The queue over all reviews, or of one (`?review=SHA256`). What is nearest to an even chance comes first."""
    desk, wanted = desk_of(request), request.query_params.get("review")
    with desk.archive() as archive:
        recordings = [r for r in archive.recordings() if wanted in (None, r.sha256)]
        waiting = [
            (note, recording)
            for recording in recordings
            for note in margin(archive, desk.lexicon, recording)
            if note.kept.verdict is None
        ]
    waiting.sort(key=lambda pair: (abs(pair[0].kept.observation.confidence - 0.5), pair[0].id))
    return page(request, "queue.html", waiting=waiting[:_MOST], left=max(0, len(waiting) - _MOST))


routes = [Route("/queue", show)]
