"""The second reader learns from the corrections, in the background; what came of it, and the way back."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from notes.desk.desk import Desk, desk_of, page
from notes.desk.jobs import Tell
from notes.errors import TapesideError
from notes.learning import corrected, learn
from notes.lesson import NEXT, told_of_going_back
from notes.reading.second.club import go_back
from notes.reading.second.reader import second_reader
from notes.settings import CLUB


def show(request: Request) -> Response:
    """What there is to learn from, what came of it since the desk was started, and by what is read."""
    desk = desk_of(request)
    with desk.archive() as archive:
        count = len(corrected(archive))
    learned = (desk.home / CLUB).is_file()
    return page(request, "learning.html", count=count, lesson=desk.lesson, learned=learned)


def teach(request: Request) -> Response:
    """Learn in the background; leads to the page that shows how that goes."""
    desk = desk_of(request)
    job = desk.jobs.start_once("Learning from corrections", lambda tell: _learn(desk, tell))
    return Response(headers={"HX-Redirect": f"/under-way/{job}"})


def take_back(request: Request) -> Response:
    """Go back to what was learned before, or to the reader as it comes."""
    desk = desk_of(request)
    if (before := go_back(desk.home)) is None:
        raise TapesideError("Nothing is learned; the second reader reads as it comes")
    desk.lesson = None
    return page(request, "taken_back.html", told=f"{told_of_going_back(before)} {NEXT}")


def _learn(desk: Desk, tell: Tell) -> str:
    if (second := second_reader(desk.lexicon)) is None:
        raise TapesideError("The second reader's weights are missing from this installation; there is nothing to teach")
    with desk.archive() as archive:
        whole, done = len(corrected(archive)), 0

        def told(more: int) -> None:
            nonlocal done
            done += more
            tell(done / whole, f"Corrections of {done} of {whole} recordings are read")

        desk.lesson = learn(archive, desk.lexicon, second, told)
    return "/learning"


routes = [
    Route("/learning", show, methods=["GET"]),
    Route("/learning", teach, methods=["POST"]),
    Route("/learning/undo", take_back, methods=["POST"]),
]
