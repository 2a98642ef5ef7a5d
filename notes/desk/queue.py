"""One queue of notes that nobody has judged, the least sure first."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.archive.unjudged import least_sure
from notes.desk.desk import desk_of, page
from notes.desk.margin import margin

_MOST = 40


def show(request: Request) -> Response:
    """The queue over all reviews, or of one (`?review=SHA256`). What is nearest to an even chance comes first."""
    desk, wanted = desk_of(request), request.query_params.get("review")
    with desk.archive() as archive:
        shown, total = least_sure(archive, wanted, _MOST)
        reviews = {sha256: archive.recording(sha256) for sha256, _ in shown}
        notes = {
            (sha256, note.id): (note, review)
            for sha256, review in reviews.items()
            if review
            for note in margin(archive, desk.lexicon, review)
        }
    return page(request, "queue.html", waiting=[notes[place] for place in shown], left=total - len(shown))


routes = [Route("/queue", show)]
