"""The desk's addresses."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from notes.desk import athletes, correcting, media, narrate, queue, reviews, searching, teaching, words
from notes.desk.desk import Desk, desk_of, page
from notes.desk.security import Guard, Keys
from notes.errors import TapesideError

_STATIC = Path(__file__).parent / "static"


def make_app(home: Path, keys: Keys, port: int) -> Starlette:
    """The desk of one home, for one start on one port."""
    desk = Desk(home, keys)

    @asynccontextmanager
    async def running(app: Starlette) -> AsyncIterator[None]:
        yield
        desk.jobs.stop()

    app = Starlette(
        routes=[
            Mount("/static", StaticFiles(directory=_STATIC)),
            Route("/key", change_key),
            Route("/jobs/{number:int}", follow),
            *reviews.routes,
            *correcting.routes,
            *words.routes,
            *queue.routes,
            *teaching.routes,
            *athletes.routes,
            *searching.routes,
            *narrate.routes,
            *media.routes,
        ],
        middleware=[Middleware(Guard, keys=keys, port=port)],
        exception_handlers={TapesideError: _refused, HTTPException: _missing, Exception: _broken},
        lifespan=running,
    )
    app.state.desk = desk
    return app


async def change_key(request: Request) -> Response:
    """The key that changes need, for a page that was open while the desk was started anew."""
    return PlainTextResponse(desk_of(request).keys.change)


async def follow(request: Request) -> Response:
    """How a job goes on, as server-sent events."""
    jobs, number = desk_of(request).jobs, request.path_params["number"]
    if jobs.get(number) is None:
        raise HTTPException(404, "This work is over, or the desk was started anew since.")
    return StreamingResponse(jobs.follow(number), media_type="text/event-stream")


async def _refused(request: Request, error: Exception) -> Response:
    return _answer(request, 422, str(error))


async def _missing(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404 and error.detail == HTTPStatus.NOT_FOUND.phrase:
        return _answer(request, 404, "The desk has no such page.")
    return _answer(request, error.status_code, error.detail)


async def _broken(request: Request, error: Exception) -> Response:
    return _answer(request, 500, "The desk could not do this. Nothing was changed; the terminal tells more.")


def _answer(request: Request, status: int, told: str) -> Response:
    if request.method == "GET" and "hx-request" not in request.headers:
        return page(request, "refused.html", status, told=told)
    return PlainTextResponse(told, status)
