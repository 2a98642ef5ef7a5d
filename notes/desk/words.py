"""What a person says of the words themselves: a word was misheard, a stretch was somebody else's."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from lexicon import LexiconError
from lexicon.misheard import teach as teach_mishearing
from notes.archive.recordings import Recording
from notes.desk.choosing import chosen_words, mended
from notes.desk.desk import Desk, desk_of, page, recording_of, talk_of, with_form
from notes.extract import read
from notes.model import Transcript
from notes.settings import OWNER_MISHEARD, make_home
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json
from notes.times import to_seconds


def mend_form(request: Request) -> Response:
    """The form for what was really said."""
    recording = recording_of(request)
    words = chosen_words(talk_of(request, recording), request.query_params)
    return page(request, "mend.html", sha256=recording.sha256, words=words, error="")


def mend(request: Request, typed: dict[str, str]) -> Response:
    """Write the words as the person heard them, read the review again, and offer to teach what was learned."""
    desk, recording = desk_of(request), recording_of(request)
    words = chosen_words(talk_of(request, recording), typed)
    right = " ".join(typed.get("right", "").split())
    if not right or len(right) > 200:
        told = "Write what was said, in at most 200 letters"
        return page(request, "mend.html", 422, sha256=recording.sha256, words=words, error=told)
    read_again(desk, recording, mended(talk_of(request, recording), words, right), recording.sheet)
    return page(request, "teach.html", sha256=recording.sha256, wrong=words.text, right=right, taught="")


def teach(request: Request, typed: dict[str, str]) -> Response:
    """Take a mishearing into the club's own list."""
    desk = desk_of(request)
    wrong, right = typed.get("wrong", ""), typed.get("right", "")
    try:
        teach_mishearing(make_home(desk.home) / OWNER_MISHEARD, wrong, right)
        taught = "From now on this is put right in every new recording; `tapeside reread` does so in the old."
    except LexiconError as error:
        taught = str(error)
    return page(request, "teach.html", sha256=request.path_params["sha256"], wrong=wrong, right=right, taught=taught)


def not_coach(request: Request, typed: dict[str, str]) -> Response:
    """Mark the chosen words as somebody else's, or take that back; the review is read again without them."""
    desk, recording = desk_of(request), recording_of(request)
    talk = talk_of(request, recording)
    words = chosen_words(talk, typed)
    marked = recording.sheet.not_coach
    stretch = (to_seconds(words.start_ms), to_seconds(words.end_ms))
    left = [other for other in marked if other[1] <= stretch[0] or other[0] >= stretch[1]]
    now = tuple(left) if len(left) < len(marked) else tuple(sorted([*marked, stretch]))
    read_again(desk, recording, talk, recording.sheet.model_copy(update={"not_coach": now}))
    return Response(headers={"HX-Refresh": "true"})


def read_again(desk: Desk, recording: Recording, transcript: Transcript, sheet: Sheet) -> None:
    """Keep changed words or a changed sheet with the reading that they give. A person's words on notes stay."""
    reading = read(transcript, sheet, desk.lexicon, recording.name, recording.sha256, desk.second)
    with desk.archive() as archive:
        archive.revise(reading, sheet, transcript_json(transcript))


routes = [
    Route("/reviews/{sha256}/words/mend", mend_form, methods=["GET"]),
    Route("/reviews/{sha256}/words/mend", with_form(mend), methods=["POST"]),
    Route("/reviews/{sha256}/words/teach", with_form(teach), methods=["POST"]),
    Route("/reviews/{sha256}/not-coach", with_form(not_coach), methods=["POST"]),
]
