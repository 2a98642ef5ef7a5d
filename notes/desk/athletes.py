"""The athletes, and each one's log, progress and critique."""

import tempfile
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lexicon import Lexicon
from notes.archive.archive import Archive, Kept, KnownPerson
from notes.archive.exposure import exposure, watched_of
from notes.archive.log import LogLine, fault_log
from notes.archive.moments import told_again
from notes.archive.progress import Progress, progress
from notes.archive.roster import roster
from notes.desk.desk import desk_of, page
from notes.model import UNLISTED
from notes.report.caution import CAUTION, SOURCE
from notes.report.critique import make_critique
from notes.report.letter import Shown, critique_document
from notes.report.page import write_sections
from notes.report.paper import write_paper
from notes.report.pictures import pictures_of, plot_of
from notes.times import clock

_TITLES = {"welfare": "Welfare", "fault": "Faults", "strength": "Strengths", "advice": "Advice"}


def show_all(request: Request) -> Response:
    """Everybody in the log."""
    with desk_of(request).archive() as archive:
        return page(request, "athletes.html", members=roster(archive))


def show(request: Request) -> Response:
    """One athlete's log."""
    desk = desk_of(request)
    with desk.archive() as archive:
        person = _athlete(request, archive)
        watched = exposure(watched_of(archive, person))
        lines = fault_log(archive.observations_of(person), watched)
        shown = _progress(archive, person)
    groups = [
        (title, [_line(line, desk.lexicon) for line in lines if line.kind == kind]) for kind, title in _TITLES.items()
    ]
    return page(
        request,
        "athlete.html",
        person=person,
        watched=watched.summary,
        groups=[(title, told) for title, told in groups if told],
        drawn=bool(shown.faults),
        caution=f"{CAUTION} ({SOURCE})",
    )


def picture(request: Request) -> Response:
    """Progress as SVG."""
    from notes.report.plots import plot_progress

    with desk_of(request).archive() as archive:
        person = _athlete(request, archive)
        shown = _progress(archive, person)
    if not shown.faults:
        raise HTTPException(404, "There is nothing to draw yet.")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "progress.svg"
        plot_progress(person.name, shown, out)
        return Response(out.read_bytes(), media_type="image/svg+xml")


def critique(request: Request) -> Response:
    """The critique of the newest session, or of `?session=`, on a page or as a file (`?form=pdf`)."""
    desk = desk_of(request)
    form, asked = request.query_params.get("form"), request.query_params.get("session")
    with desk.archive() as archive:
        person = _athlete(request, archive)
        days = archive.days_of(person)
        day = next((d for d in reversed(days) if asked in (None, str(d))), None)
        if day is None or form not in (None, *_FORMS):
            raise HTTPException(404, "There is no such critique.")
        watched = exposure(w for w in watched_of(archive, person) if w.day <= day)
        made = make_critique(person, archive.observations_of(person), watched, desk.lexicon, day, day)
        shown = Shown(pictures_of(point.quote for point in made.points), plot=plot_of(made))
        document = critique_document(made, desk.lexicon, shown)
    if form is None:
        return page(
            request, "critique.html", person=person, day=day, days=days, forms=_FORMS, sections=write_sections(document)
        )
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / f"critique.{form}"
        write_paper(document, out)
        data = out.read_bytes()
    name = quote(f"{person.name}-{day}.{form}")
    return Response(
        data, media_type=_FORMS[form], headers={"content-disposition": f"attachment; filename*=utf-8''{name}"}
    )


_FORMS = {
    "html": "text/html",
    "pdf": "application/pdf",
    "docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    "md": "text/markdown; charset=utf-8",
}


def _progress(archive: Archive, person: KnownPerson) -> Progress:
    return progress(archive.observations_of(person), exposure(watched_of(archive, person)))


def _athlete(request: Request, archive: Archive) -> KnownPerson:
    return archive.athlete(request.path_params["name"])


def _line(line: LogLine, lexicon: Lexicon) -> dict[str, Any]:
    entry = lexicon.entries.get(line.key)
    unlisted = line.key.startswith(UNLISTED)
    seen = f"{line.times}x{told_again(line.moments)}"
    return {
        "title": "in the coach's own words" if unlisted else entry.label if entry else line.key.replace("-", " "),
        "on": ", ".join(t.replace("-", " ") for t in line.techniques[:2]) if line.kind == "fault" else "",
        "told": ", ".join([seen, f"last {line.last_seen}", *([line.standing] if line.standing else [])]),
        "quote": line.best_quote,
        "why": line.why,
        "fixes": ", ".join(f.replace("-", " ") for f in line.fixes),
        "moments": [_moment(kept) for kept in reversed(line.notes)],
        "clip": next((_clip(kept) for kept in reversed(line.notes) if _is_filmed(kept)), ""),
    }


def _moment(kept: Kept) -> dict[str, str]:
    at = kept.observation.footage_ms
    shown = f"{kept.day}, {clock(at)}" if at is not None else str(kept.day)
    return {"address": f"/reviews/{kept.recording_sha256}#n-{kept.observation.id}", "shown": shown}


def _is_filmed(kept: Kept) -> bool:
    return kept.footage is not None and kept.observation.footage_ms is not None


def _clip(kept: Kept) -> str:
    """The moment from 4 s before to 6 s after, as a media fragment (W3C, "Media Fragments URI", temporal)."""
    at = (kept.observation.footage_ms or 0) / 1000
    return f"/media/{kept.recording_sha256}/footage#t={max(0, at - 4):.1f},{at + 6:.1f}"


routes = [
    Route("/athletes", show_all),
    Route("/athletes/{name}/progress.svg", picture),
    Route("/athletes/{name}/critique", critique),
    Route("/athletes/{name}", show),
]
