"""A talk as the second reader's encoder takes it: sentences of word pieces, in windows that overlap."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from notes.reading.talk import Talk
from notes.sheet import Sheet

# People as the model knows them, whatever their names are.
_ATHLETES = ("sam", "alex")
_OTHER_ATHLETE = "kim"
_OPPONENT = "chris"
_COACH = "jordan"
# A pause of this many ms before a sentence is shown to the model as a mark.
_PAUSE_MS = 2_500
_PAUSE = "| "
# Word pieces in a window, and how many at least stand on either side of a sentence that is judged in it.
WINDOW = 224
_MARGIN = 48


def sentences(talk: Talk, sheet: Sheet) -> list[str]:
    """Each sentence in small letters, names exchanged for those of the parts that people play, pauses marked."""
    names = _parts(sheet)
    pattern = re.compile(r"\b(" + "|".join(map(re.escape, sorted(names, key=len, reverse=True))) + r")\b")
    found = []
    before_ms = 0
    for sentence in talk.sentences:
        said = pattern.sub(lambda m: names[m[1]], talk.quote(sentence, sentence).lower())
        found.append((_PAUSE if sentence.start_ms - before_ms >= _PAUSE_MS else "") + said)
        before_ms = sentence.end_ms
    return found


def heading(sheet: Sheet) -> str:
    """What stands at the head of every window: the sport and the manner of the review."""
    return f"{sheet.sport.replace('-', ' ')} {sheet.narration}"


def _parts(sheet: Sheet) -> dict[str, str]:
    parts = {_COACH: _COACH}
    if sheet.coach:
        parts[sheet.coach.name.lower()] = _COACH
    if sheet.opponent:
        parts |= {name.lower(): _OPPONENT for name in sheet.opponent.names}
    for i, athlete in enumerate(sheet.athletes):
        part = _ATHLETES[i] if i < len(_ATHLETES) else _OTHER_ATHLETE
        parts |= {name.lower(): part for name in athlete.names}
    return parts


@dataclass(frozen=True, slots=True)
class Window:
    """Sentences first..last (one past) are read together; those in kept_first..kept_last are judged."""

    first: int
    last: int
    kept_first: int
    kept_last: int


def windows(
    lengths: Sequence[int], room: int = WINDOW, margin: int = _MARGIN, first_room: int | None = None
) -> Iterator[Window]:
    """Windows of at most `room` word pieces (a longer sentence alone is cut by the encoder) that judge every sentence
    once, with about `margin` pieces of talk before and after it where there are any. `first_room` shortens the first
    window, so that training sees a talk cut anywhere."""
    kept, limit = 0, first_room or room
    while kept < len(lengths):
        first, before = kept, 0
        while first and before < margin:
            first -= 1
            before += lengths[first]
        while first < kept and before + lengths[kept] > room:
            before -= lengths[first]
            first += 1
        last, held = kept + 1, before + lengths[kept]
        while last < len(lengths) and held + lengths[last] <= limit:
            held += lengths[last]
            last += 1
        kept_last, after = last, 0
        while last < len(lengths) and kept_last > kept + 1 and after < margin:
            kept_last -= 1
            after += lengths[kept_last]
        yield Window(first, last, kept, kept_last)
        kept, limit = kept_last, room
