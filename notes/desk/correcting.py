"""A person's word on notes: keep, strike, amend, undo; and notes on words that the machine passed over."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, get_args

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from lexicon import Lexicon
from lexicon.patterns import Stance
from notes.archive import correcting
from notes.archive.archive import Archive
from notes.archive.changes import read_changes
from notes.archive.recordings import Recording
from notes.desk.choosing import chosen_words
from notes.desk.desk import desk_of, page, recording_in, recording_of, talk_of, with_form
from notes.desk.margin import note_in
from notes.desk.notes import Note
from notes.errors import TapesideError
from notes.model import Kind, Observation

_TERMS = {"technique": "techniques", "fault": "faults", "fix": "fixes"}


def keep(request: Request) -> Response:
    """The note is right."""
    return _decide(request, lambda archive, lexicon, name: correcting.correct(archive, lexicon, [name], "kept"))


def strike(request: Request) -> Response:
    """The note is wrong; it leaves the log."""
    return _decide(request, lambda archive, lexicon, name: correcting.correct(archive, lexicon, [name], "struck"))


def undo(request: Request) -> Response:
    """Take the newest word on it back."""
    return _decide(request, lambda archive, lexicon, name: correcting.undo(archive, [name]))


def amend(request: Request, typed: dict[str, str]) -> Response:
    """Take over what the form changed; where that cannot be, the form again with the reason."""
    desk, name = desk_of(request), request.path_params["id"]
    with desk.archive() as archive:
        recording = recording_in(archive, request)
        note = note_in(archive, desk.lexicon, recording, name)
        if note is None:
            raise HTTPException(404, "There is no such note.")
        before = _values(note.kept.observation)
        pairs = [f"{key}={typed[key]}" for key, old in before.items() if typed.get(key, old) != old]
        try:
            changes = read_changes(pairs, desk.lexicon)
            if changes:
                correcting.correct(archive, desk.lexicon, [name], "amended", changes)
        except TapesideError as error:
            return _form(request, recording, typed, f"notes/{name}/amend", f"#n-{name} .more", str(error), status=422)
        answer = _shown(request, archive, recording)
    answer.headers["HX-Retarget"], answer.headers["HX-Reswap"] = f"#n-{name}", "outerHTML"
    return answer


def amend_form(request: Request) -> Response:
    """The form to amend a note."""
    desk, name = desk_of(request), request.path_params["id"]
    with desk.archive() as archive:
        recording = recording_in(archive, request)
        note = note_in(archive, desk.lexicon, recording, name)
    if note is None:
        raise HTTPException(404, "There is no such note.")
    return _form(request, recording, _values(note.kept.observation), f"notes/{name}/amend", f"#n-{name} .more")


def add_form(request: Request) -> Response:
    """The form for a note on chosen words (`?first=…&last=…`, numbers of words)."""
    recording = recording_of(request)
    words = chosen_words(talk_of(request, recording), request.query_params)
    blank = dict.fromkeys(("technique", "fault", "fix", "why"), "") | {"kind": "fault"}
    blank |= {"athlete": recording.sheet.athletes[0].name, "first": str(words.first), "last": str(words.last)}
    return _form(request, recording, blank, "notes", "#chosen-answer")


def add(request: Request, typed: dict[str, str]) -> Response:
    """Keep a note on chosen words; the page is then drawn anew."""
    desk, recording = desk_of(request), recording_of(request)
    talk = talk_of(request, recording)
    words = chosen_words(talk, typed)
    told = [f"{key}={typed.get(key, '')}" for key in ("athlete", "kind", *_TERMS, "why")]
    try:
        note = replace(words.as_note(talk, recording.sheet), **read_changes(told, desk.lexicon))
        with desk.archive() as archive:
            correcting.add_note(archive, desk.lexicon, recording.sha256, note)
    except TapesideError as error:
        return _form(request, recording, typed, "notes", "#chosen-answer", str(error), status=422)
    return Response(headers={"HX-Refresh": "true"})


def why(request: Request) -> Response:
    """What spoke for a note, and its history."""
    desk, name = desk_of(request), request.path_params["id"]
    with desk.archive() as archive:
        recording = recording_in(archive, request)
        note = note_in(archive, desk.lexicon, recording, name)
        told = correcting.history(archive, name) if note else ()
    if note is None:
        raise HTTPException(404, "There is no such note.")
    from notes.reading.explain import explain

    words = explain(note.kept.observation.quote, _stance(recording, note), desk.lexicon, desk.second)
    return page(request, "why.html", note=note, words=words, history=told)


def _decide(request: Request, decide: Any) -> Response:
    desk = desk_of(request)
    with desk.archive() as archive:
        recording = recording_in(archive, request)
        decide(archive, desk.lexicon, request.path_params["id"])
        return _shown(request, archive, recording)


def _shown(request: Request, archive: Archive, recording: Recording) -> Response:
    """The note as it stands now; nothing where it is gone."""
    note = note_in(archive, desk_of(request).lexicon, recording, request.path_params["id"])
    return page(request, "note.html", note=note) if note else HTMLResponse("")


def _stance(recording: Recording, note: Note) -> Stance:
    told = {athlete.name: athlete.stance for athlete in recording.sheet.athletes}
    return told.get(note.kept.observation.athlete) or "orthodox"


def _values(o: Observation) -> dict[str, str]:
    terms = {key: ", ".join(getattr(o, field)) for key, field in _TERMS.items()}
    return {"athlete": o.athlete, "kind": o.kind, **terms, "why": o.why or ""}


def _form(
    request: Request,
    recording: Recording,
    values: Mapping[str, str],
    action: str,
    target: str,
    error: str = "",
    *,
    status: int = 200,
) -> Response:
    sheet, lexicon = recording.sheet, desk_of(request).lexicon
    people = [*(a.name for a in sheet.athletes), *([sheet.opponent.name] if sheet.opponent else [])]
    return page(
        request,
        "amend.html",
        status,
        action=f"/reviews/{recording.sha256}/{action}",
        target=target,
        values=values,
        hidden={key: values[key] for key in ("first", "last") if key in values},
        athletes=list(dict.fromkeys([values["athlete"], *people])),
        kinds=get_args(Kind),
        vocabulary=_vocabulary(lexicon),
        go="Add" if "first" in values else "Amend",
        error=error,
    )


def _vocabulary(lexicon: Lexicon) -> dict[str, list[tuple[str, str]]]:
    return {sort: [(e.id, e.means) for e in lexicon.of_sort(sort)] for sort in ("technique", "fault", "fix")}


routes = [
    Route("/reviews/{sha256}/notes", with_form(add), methods=["POST"]),
    Route("/reviews/{sha256}/notes/new", add_form),
    Route("/reviews/{sha256}/notes/{id}/keep", keep, methods=["POST"]),
    Route("/reviews/{sha256}/notes/{id}/strike", strike, methods=["POST"]),
    Route("/reviews/{sha256}/notes/{id}/undo", undo, methods=["POST"]),
    Route("/reviews/{sha256}/notes/{id}/amend", amend_form, methods=["GET"]),
    Route("/reviews/{sha256}/notes/{id}/amend", with_form(amend), methods=["POST"]),
    Route("/reviews/{sha256}/notes/{id}/why", why),
]
