"""Taking a person out of what others keep: their names, and what was said of them."""

import re
from collections.abc import Collection, Iterable, Iterator
from typing import Any

FORGOTTEN = "(forgotten)"
_LETTER = r"[^\W\d_]"


def names_pattern(names: Iterable[str], others: Iterable[str]) -> re.Pattern[str]:
    """Matches each name and alias, in any case and between any spaces, and the parts of a longer name that are in none
    of the `others`' names. A name inside another word is left: "Mo" is not in "more"."""
    names, taken = list(names), {part.casefold() for other in others for part in other.split()}
    parts = {part for name in names for part in name.split() if len(part) > 1 and part.casefold() not in taken}
    alternatives = sorted({*names, *parts}, key=len, reverse=True)
    joined = "|".join(r"[\s_-]+".join(map(re.escape, name.split())) for name in alternatives)
    return re.compile(rf"(?<!{_LETTER})(?:{joined})(?!{_LETTER})", re.IGNORECASE)


def without_names(text: str, names: re.Pattern[str]) -> str:
    """The text with the names taken out."""
    return names.sub(FORGOTTEN, text)


def is_called(one: dict[str, Any] | None, names: Collection[str]) -> bool:
    """Whether somebody on a sheet (as JSON) bears one of the casefolded names."""
    return one is not None and any(name.casefold() in names for name in (one["name"], *one.get("aliases", ())))


def is_on(sheet: dict[str, Any], names: Collection[str]) -> bool:
    """Whether they are on a sheet in any part."""
    return any(is_called(one, names) for one in (*sheet["athletes"], sheet.get("opponent"), sheet.get("coach")))


def is_theirs_alone(sheet: dict[str, Any], names: Collection[str]) -> bool:
    """Whether all athletes on a sheet are them."""
    return all(is_called(one, names) for one in sheet["athletes"])


def sheet_without(sheet: dict[str, Any], names: Collection[str], pattern: re.Pattern[str]) -> dict[str, Any]:
    """A sheet without them: as an athlete not there, as opponent or coach without a name; and its footage without a
    file name that holds theirs."""
    left = sheet | {"athletes": [one for one in sheet["athletes"] if not is_called(one, names)]}
    left |= {part: {"name": FORGOTTEN} for part in ("opponent", "coach") if is_called(sheet.get(part), names)}
    if pattern.search(left.get("footage") or ""):
        del left["footage"]
    return left


def redact_transcript(
    transcript: dict[str, Any], names: re.Pattern[str], gone: Iterable[str], kept: Iterable[str]
) -> dict[str, Any]:
    """A transcript (as JSON) without the names and without the quotes `gone`, but for what is in quotes `kept` too.

    Times stay, and so do the ends of sentences. Words taken out in a row become one `(forgotten)`.
    """
    segments = transcript["segments"]
    scripts = [_script(segment) for segment in segments]
    whole = " ".join(scripts)
    hidden = bytearray(len(whole))
    for quotes, mark in ((gone, 1), (kept, 0)):
        for start, end in _places(whole, quotes):
            hidden[start:end] = bytes([mark]) * (end - start)
    for match in names.finditer(whole):
        hidden[match.start() : match.end()] = b"\x01" * len(match[0])
    redacted, at = [], 0
    for segment, script in zip(segments, scripts, strict=True):
        redacted.append(_redact_segment(segment, script, hidden[at : at + len(script)], names))
        at += len(script) + 1
    return transcript | {"segments": redacted}


def _script(segment: dict[str, Any]) -> str:
    return " ".join(word["word"] for word in segment.get("words") or ()) or segment["text"]


def _places(whole: str, quotes: Iterable[str]) -> Iterator[tuple[int, int]]:
    for quote in quotes:
        words = quote.split()
        for match in re.finditer(r"\s+".join(map(re.escape, words)), whole) if words else ():
            yield match.span()


def _redact_segment(segment: dict[str, Any], script: str, hidden: bytearray, names: re.Pattern[str]) -> dict[str, Any]:
    pieces, at = [], 0
    for run in re.finditer(rb"\x01+", hidden):
        pieces += [script[at : run.start()], _instead_of(script[run.start() : run.end()])]
        at = run.end()
    text = "".join([*pieces, script[at:]]) if pieces else without_names(segment["text"], names)
    return segment | {"text": text, "words": list(_redact_words(segment.get("words") or [], hidden, names))}


def _instead_of(words: str) -> str:
    """What stands for words taken out, with the mark that ends them, so that no two sentences become one."""
    return FORGOTTEN + (words[-1] if words[-1] in ".,?!…" else "")


def _redact_words(words: list[dict[str, Any]], hidden: bytearray, names: re.Pattern[str]) -> Iterator[dict[str, Any]]:
    at, run = 0, None
    for word in words:
        start, at = at, at + len(word["word"]) + 1
        if any(hidden[start : at - 1]) or names.search(word.get("heard") or ""):
            run = (run or word) | {"end": word["end"], "word": _instead_of(word["word"]), "heard": None}
            continue
        if run:
            yield run
            run = None
        yield word
    if run:
        yield run
