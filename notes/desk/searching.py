"""Search over all sessions."""

from collections.abc import Iterator, Sequence

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.archive.marking import marks_in
from notes.archive.search import Filters, search
from notes.desk.desk import desk_of, page
from notes.times import clock

_MOST = 30


def show(request: Request) -> Response:
    """Results for `?q=`, of one athlete where `&athlete=` names one."""
    desk = desk_of(request)
    query, name = request.query_params.get("q", "").strip()[:500], request.query_params.get("athlete", "").strip()
    results = []
    with desk.archive() as archive:
        if query:
            person = archive.athlete(name) if name else None
            found = search(archive, desk.lexicon, query, Filters(athlete=person), _MOST)
            results = [
                {
                    "o": result.kept.observation,
                    "day": result.kept.day,
                    "at": clock(at) if (at := result.kept.observation.footage_ms) is not None else "",
                    "address": f"/reviews/{result.kept.recording_sha256}#n-{result.kept.observation.id}",
                    "matched": "; ".join(result.matched),
                    "quote": list(_parts(quote, marks_in(quote, result.asked, desk.lexicon))),
                }
                for result in found
                for quote in (result.kept.observation.quote,)
            ]
    return page(request, "search.html", query=query, athlete=name, results=results)


def _parts(quote: str, marks: Sequence[tuple[int, int]]) -> Iterator[tuple[str, bool]]:
    """A quote in parts, each with whether it is what was asked for."""
    at = 0
    for start, end in marks:
        yield quote[at:start], False
        yield quote[start:end], True
        at = end
    yield quote[at:], False


routes = [Route("/search", show)]
