"""Narrating: the form, seconds of sound as they come, and what is made of them."""

import json
import secrets
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, get_args
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from notes.desk.desk import Desk, desk_of, page, with_form
from notes.desk.jobs import Tell
from notes.desk.uploads import receive
from notes.errors import BadSheet
from notes.intake import take_in
from notes.narrating import MOST_PART_BYTES, Narration, begin, find, unfinished
from notes.settings import RECORDINGS, VIDEOS
from notes.sheet import Sheet, Sport, parse_sheet
from notes.times import clock


def show(request: Request) -> Response:
    """The page; `?go_on=ID` takes up a narration that was interrupted."""
    desk = desk_of(request)
    narration = None
    if wanted := request.query_params.get("go_on"):
        narration = _narration(desk, wanted)
    with desk.archive() as archive:
        last = narration.sheet if narration else archive.last_sheet()
    left = [n for n in unfinished(desk.home) if narration is None or n.id != narration.id]
    return page(
        request,
        "narrate.html",
        narration=narration,
        unfinished=[
            {"id": n.id, "who": ", ".join(a.name for a in n.sheet.athletes), "spoken": clock(round(n.seconds * 1000))}
            for n in left
        ],
        sports=get_args(Sport),
        sheet=_form_of(last, same_day=narration is not None),
    )


def start(request: Request, form: dict[str, str]) -> Response:
    """Begin a narration under the sheet in the form; answers with its id."""
    narration = begin(desk_of(request).home, sheet_of(form), secrets.token_hex(6))
    return PlainTextResponse(narration.id)


def next_take(request: Request) -> Response:
    """The number of the take that begins now."""
    return PlainTextResponse(str(_narration(desk_of(request), request.path_params["id"]).next_take()))


async def part(request: Request) -> Response:
    """Keep a second of sound and what the footage did in it."""
    narration = _narration(desk_of(request), request.path_params["id"])
    if int(request.headers.get("content-length", "0")) > MOST_PART_BYTES:
        raise HTTPException(413, "A part of a narration is a second of sound.")
    pcm = await request.body()
    take, number = request.path_params["take"], request.path_params["number"]
    rate, anchors = request.headers.get("x-rate", ""), request.headers.get("x-anchors", "[]")
    await run_in_threadpool(narration.keep, take, number, int(rate) if rate.isdecimal() else 0, pcm, anchors)
    return Response(status_code=204)


async def footage(request: Request) -> Response:
    """Keep the footage as it streams in."""
    narration = _narration(desk_of(request), request.path_params["id"])
    await receive(request, narration.folder / "footage", unquote(request.headers.get("x-name", "")))
    return Response(status_code=204)


def given_footage(request: Request) -> Response:
    """The footage of an unfinished narration, to go on with it."""
    video = _narration(desk_of(request), request.path_params["id"]).footage
    if video is None:
        raise HTTPException(404, "This narration has no footage.")
    return FileResponse(video)


def throw_away(request: Request) -> Response:
    """Discard an unfinished narration."""
    _narration(desk_of(request), request.path_params["id"]).discard()
    return Response(status_code=200)


def finish(request: Request) -> Response:
    """Make a recording of it, and read it in the background; answers with the address that shows how it goes."""
    desk = desk_of(request)
    narration = _narration(desk, request.path_params["id"])
    job = desk.jobs.start("Reading the narration", lambda tell: _read(desk, narration, tell))
    return PlainTextResponse(f"/under-way/{job}")


def under_way(request: Request) -> Response:
    """A page that shows how a job goes on."""
    job = desk_of(request).jobs.get(request.path_params["number"])
    if job is None:
        raise HTTPException(404, "This work is over, or the desk was started anew since.")
    return page(request, "under_way.html", job=job, number=request.path_params["number"])


def _read(desk: Desk, narration: Narration, tell: Tell) -> str:
    """Killed at any moment, this can be done again: the narration is discarded only when its review is kept."""
    sheet = narration.sheet
    tell(0.0, "Keeping what was spoken")
    recording = _folder(desk, RECORDINGS) / f"{sheet.day}-{narration.id}.flac"
    narration.save_sound(recording)
    video = None
    if given := narration.footage:
        video = _folder(desk, VIDEOS) / f"{narration.id}-{given.name}"
        if not video.exists():
            video.hardlink_to(given)
    with desk.archive() as archive:
        taken = take_in(
            archive,
            recording,
            sheet,
            desk.lexicon,
            lambda: desk.second,
            lambda path, sha256: desk.hear(path, sha256, sheet, tell),
            footage=video,
            playback=narration.playback(),
        )
    narration.discard()
    return f"/reviews/{taken.sha256}"


def _folder(desk: Desk, name: str) -> Path:
    folder = desk.home / name
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def _narration(desk: Desk, name: str) -> Narration:
    narration = find(desk.home, name)
    if narration is None:
        raise HTTPException(404, "There is no such unfinished narration.")
    return narration


_MARKS = ("southpaw", "orthodox", "junior")


def sheet_of(form: Mapping[str, str]) -> Sheet:
    """The sheet that a filled-in form means. Raises BadSheet in the form's own words."""
    facts: dict[str, Any] = {"sport": form.get("sport"), "clock": form.get("clock") or "video"}
    facts["athletes"] = [_athlete(line) for line in form.get("athletes", "").splitlines() if line.strip()]
    if opponent := form.get("opponent", "").strip():
        name, *aliases = [part.strip() for part in opponent.split(",") if part.strip()]
        facts["opponent"] = {"name": name, "aliases": aliases}
    if coach := form.get("coach", "").strip():
        facts["coach"] = {"name": coach}
    facts["date"] = form.get("date") or date.today().isoformat()
    facts["narration"] = form.get("narration") or "live"
    rounds = {key: form[key].strip() for key in ("length", "rest", "first_starts_at") if form.get(key, "").strip()}
    if rounds:
        facts["rounds"] = rounds
    return parse_sheet(json.dumps(facts), "the sheet")


def _athlete(line: str) -> dict[str, Any]:
    athlete: dict[str, Any] = {}
    for mark in _MARKS:
        if f"({mark})" in line:
            line = line.replace(f"({mark})", "")
            athlete |= {"junior": True} if mark == "junior" else {"stance": mark}
    names = [part.strip() for part in line.split(",") if part.strip()]
    if not names:
        raise BadSheet("Each line under Athletes begins with a name")
    return athlete | {"name": names[0], "aliases": names[1:]}


def _form_of(sheet: Sheet | None, *, same_day: bool) -> dict[str, Any]:
    if sheet is None:
        blank = dict.fromkeys(("athletes", "opponent", "sport", "coach", "length", "rest", "first_starts_at"), "")
        return blank | {"date": date.today().isoformat(), "clock": "video"}
    lines = []
    for athlete in sheet.athletes:
        marks = [f"({mark})" for mark in (athlete.stance, "junior" if athlete.junior else None) if mark]
        lines.append(" ".join([", ".join(athlete.names), *marks]))
    rounds = sheet.rounds
    day = sheet.day if same_day and sheet.day else date.today()
    return {
        "athletes": "\n".join(lines),
        "opponent": ", ".join(sheet.opponent.names) if sheet.opponent else "",
        "sport": sheet.sport,
        "date": day.isoformat(),
        "coach": sheet.coach.name if sheet.coach else "",
        "length": f"{rounds.length:g}" if rounds else "",
        "rest": f"{rounds.rest:g}" if rounds else "",
        "first_starts_at": f"{rounds.first_starts_at:g}" if rounds else "",
        "clock": sheet.clock,
    }


routes = [
    Route("/narrate", show),
    Route("/narrations", with_form(start), methods=["POST"]),
    Route("/narrations/{id}", throw_away, methods=["DELETE"]),
    Route("/narrations/{id}/take", next_take),
    Route("/narrations/{id}/parts/{take:int}/{number:int}", part, methods=["PUT"]),
    Route("/narrations/{id}/footage", given_footage, methods=["GET"]),
    Route("/narrations/{id}/footage", footage, methods=["PUT"]),
    Route("/narrations/{id}/finish", finish, methods=["POST"]),
    Route("/under-way/{number:int}", under_way),
]
