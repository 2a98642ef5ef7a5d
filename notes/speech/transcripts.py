"""Transcript files in and out: WebVTT, SRT, plain text and our JSON.

Caption libraries accept times that the formats forbid (60 seconds, one-digit minutes, negative times) and write
text unescaped, so files are read here by the W3C grammar and a broken time is named by its line.
"""

import html
import json
import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Annotated, Any, Literal, NotRequired

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from typing_extensions import TypedDict

from notes.errors import BadTranscript, TapesideError
from notes.model import Dropped, Segment, Transcript, Word
from notes.times import Played, TimeMap, caption_stamp, to_ms, to_seconds

SCHEMA = "tapeside-transcript/1"

# Source: W3C WebVTT, "WebVTT timestamp": two or more hour digits (optional), two, two, three; ASCII digits.
_VTT_TIME = re.compile(r"(?:([0-9]{2,}):)?([0-5][0-9]):([0-5][0-9])\.([0-9]{3})")
# SRT has no formal standard; this is the form that players agree on.
_SRT_TIME = re.compile(r"([0-9]{1,}):([0-5][0-9]):([0-5][0-9])[,.]([0-9]{3})")
_TEXT_TIME = re.compile(r"\[?(?:([0-9]{1,2}):)?([0-9]{1,3}):([0-5][0-9])(?:\.([0-9]{1,3}))?\]?\s+(?=\S)")
_TAG = re.compile(r"<[^>]*>")


def is_transcript(path: Path) -> bool:
    """Whether the file's name says that it is words already, not sound."""
    return path.suffix.lower() in _READERS


def read_transcript(path: Path) -> Transcript:
    """The words and times in a .vtt, .srt, .txt or .json file. Raises BadTranscript naming file and line."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise BadTranscript(f'No such file: "{path}"; check the name') from None
    except IsADirectoryError:
        raise BadTranscript(f'"{path}" is a folder; name the transcript in it') from None
    except UnicodeDecodeError:
        raise BadTranscript(f'"{path}" is not a text in UTF-8; save it in that encoding') from None
    except OSError as error:
        raise BadTranscript(f'Cannot read "{path}" ({error.strerror})') from None
    if not text.strip():
        raise BadTranscript(f'"{path}" is empty; copy the transcript again')
    return _READERS[path.suffix.lower()](text, str(path))


def write_transcript(transcript: Transcript, path: Path) -> None:
    """Write a transcript, wholly or not at all, in the form that the file's name asks for.

    Raises TapesideError for another ending.
    """
    check_ending(path)
    text = _WRITERS[path.suffix.lower()](transcript)
    writing = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        writing.write_text(text, encoding="utf-8")
        writing.replace(path)
    except OSError as error:
        writing.unlink(missing_ok=True)
        raise TapesideError(f'Cannot write "{path}" ({error.strerror})') from None


def check_ending(path: Path) -> None:
    """Raise TapesideError unless a transcript can be written under this name."""
    if path.suffix.lower() not in _WRITERS:
        raise TapesideError(f'"{path}" must end in {", ".join(_WRITERS)}; the ending chooses the form')


def _read_vtt(text: str, name: str) -> Transcript:
    lines = re.split(r"\r\n|\r|\n", text)
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
        raise BadTranscript(f'{name}:1: a WebVTT file starts with the line "WEBVTT"')
    return Transcript(tuple(_cues(lines, name, _VTT_TIME, "00:01:02.500")), model="vtt")


def _read_srt(text: str, name: str) -> Transcript:
    return Transcript(tuple(_cues(re.split(r"\r\n|\r|\n", text), name, _SRT_TIME, "00:01:02,500")), model="srt")


def _cues(lines: list[str], name: str, time: re.Pattern[str], example: str) -> Iterator[Segment]:
    found: list[Segment] = []
    i = 0
    while i < len(lines):
        if "-->" not in lines[i]:
            i += 1
            continue
        start, end = _cue_times(lines[i], f"{name}:{i + 1}", time, example)
        i += 1
        body = []
        while i < len(lines) and lines[i].strip() and "-->" not in lines[i]:
            body.append(lines[i])
            i += 1
        said = " ".join(html.unescape(_TAG.sub("", " ".join(body))).split())
        if said:
            found.append(Segment(start, end, said))
    if not found:
        raise BadTranscript(f"{name}: holds no captions; is it the right file?")
    yield from sorted(found, key=lambda s: (s.start_ms, s.end_ms))


def _cue_times(line: str, where: str, time: re.Pattern[str], example: str) -> tuple[int, int]:
    left, _, right = line.partition("-->")
    ends = (left.strip(), (right.split() or [""])[0])
    matches = [time.fullmatch(end) for end in ends]
    for end, match in zip(ends, matches, strict=True):
        if not match:
            raise BadTranscript(f'{where}: "{end}" is not a caption time; write it like {example}')
    start, stop = (_milliseconds(match) for match in matches if match)
    if stop < start:
        raise BadTranscript(f"{where}: the caption ends before it starts; mend its times")
    return start, stop


def _milliseconds(match: re.Match[str]) -> int:
    hours, minutes, seconds, rest = match.groups()
    return (int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds)) * 1000 + int((rest or "0").ljust(3, "0"))


def _read_text(text: str, name: str) -> Transcript:
    """One remark a line; a line may begin with its time, `1:02` or `[0:01:02]`."""
    rows = [(match := _TEXT_TIME.match(line), line) for line in map(str.strip, text.splitlines()) if line]
    if not any(match for match, _ in rows):
        return Transcript(tuple(Segment(i, i, line) for i, (_, line) in enumerate(rows)), model="text", timed=False)
    segments: list[Segment] = []
    start = 0
    for match, line in rows:
        start = _milliseconds(match) if match else start
        if segments and start < segments[-1].start_ms:
            raise BadTranscript(f'{name}: the time of "{line[:40]}" is before that of the line above; mend it')
        segments.append(Segment(start, start, line[match.end() :] if match else line))
    ends = [later.start_ms for later in segments[1:]] + [segments[-1].start_ms]
    return Transcript(
        tuple(Segment(s.start_ms, end, s.text) for s, end in zip(segments, ends, strict=True)), model="text"
    )


class _WordJson(TypedDict):
    """No model: of three hours there are tens of thousands, which made so take four times as long to check."""

    __pydantic_config__ = ConfigDict(extra="forbid")  # type: ignore[misc]
    start: Annotated[float, Field(ge=0)]
    end: Annotated[float, Field(ge=0)]
    word: str
    probability: NotRequired[float | None]
    heard: NotRequired[str | None]


class _SegmentJson(BaseModel):
    model_config = ConfigDict(extra="forbid")
    start: float = Field(ge=0)
    end: float = Field(ge=0)
    text: str
    words: list[_WordJson] = []


class _DroppedJson(BaseModel):
    model_config = ConfigDict(extra="forbid")
    start: float = Field(ge=0)
    end: float = Field(ge=0)
    text: str
    reason: str


class _PlayedJson(BaseModel):
    model_config = ConfigDict(extra="forbid")
    at: float = Field(ge=0)
    footage: float = Field(ge=0)
    rate: float = Field(ge=0, le=16)


class _TranscriptJson(BaseModel):
    model_config = ConfigDict(extra="forbid", populate_by_name=True)
    version: Literal["tapeside-transcript/1"] = Field(alias="schema")
    language: str = "en"
    model: str = ""
    segments: list[_SegmentJson]
    playback: list[_PlayedJson] | None = None
    dropped: list[_DroppedJson] = []


def _read_json(text: str, name: str) -> Transcript:
    try:
        data = json.loads(text)
    except ValueError as error:
        raise BadTranscript(f'{name}: Invalid JSON ({error}); a transcript is {{"schema": "{SCHEMA}", …}}') from None
    return parse_transcript(data, name)


def parse_transcript(json_data: Any, name: str, *, timed: bool = True) -> Transcript:
    """The transcript in JSON data, schema tapeside-transcript/1; `name` stands in error messages.

    timed: False where it was plain text without times. Raises BadTranscript naming the field.
    """
    try:
        data = _TranscriptJson.model_validate(json_data)
    except ValidationError as error:
        fault = error.errors()[0]
        place = ".".join(str(part) for part in fault["loc"]) or "the file"
        raise BadTranscript(f'{name}: {place}: {fault["msg"]}; a transcript is {{"schema": "{SCHEMA}", …}}') from None
    if data.language.lower().partition("-")[0] != "en":
        raise BadTranscript(
            f'{name}: language: the transcript is in "{data.language}"; there is a vocabulary for English ("en") alone'
        )
    segments = tuple(
        Segment(
            to_ms(s.start),
            to_ms(s.end),
            s.text,
            tuple(
                Word(w["word"], to_ms(w["start"]), to_ms(w["end"]), w.get("probability"), w.get("heard"))
                for w in s.words
            ),
        )
        for s in data.segments
    )
    playback = None
    if data.playback is not None:
        played = sorted(data.playback, key=lambda p: p.at)
        playback = TimeMap(tuple(Played(to_ms(p.at), to_ms(p.footage), p.rate) for p in played))
    dropped = tuple(Dropped(to_ms(d.start), to_ms(d.end), d.text, d.reason) for d in data.dropped)
    return Transcript(segments, data.model, data.language, timed=timed, playback=playback, dropped=dropped)


def transcript_json(transcript: Transcript) -> dict[str, Any]:
    """The transcript as JSON data, schema tapeside-transcript/1; times in seconds.

    `playback` is there where the footage was steered while the coach spoke, `dropped` where something was.
    """
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "language": transcript.language,
        "model": transcript.model,
        "segments": [
            {
                "start": to_seconds(s.start_ms),
                "end": to_seconds(s.end_ms),
                "text": s.text,
                "words": [
                    {
                        "start": to_seconds(w.start_ms),
                        "end": to_seconds(w.end_ms),
                        "word": w.text,
                        "probability": w.probability,
                        "heard": w.heard,
                    }
                    for w in s.words
                ],
            }
            for s in transcript.segments
        ],
    }
    if transcript.playback:
        data["playback"] = [
            {"at": to_seconds(p.at_ms), "footage": to_seconds(p.footage_ms), "rate": p.rate}
            for p in transcript.playback.played
        ]
    if transcript.dropped:
        data["dropped"] = [
            {"start": to_seconds(d.start_ms), "end": to_seconds(d.end_ms), "text": d.text, "reason": d.reason}
            for d in transcript.dropped
        ]
    return data


def _write_vtt(transcript: Transcript) -> str:
    cues = (
        f"{caption_stamp(s.start_ms)} --> {caption_stamp(_seen(s))}\n{html.escape(s.text, quote=False)}\n"
        for s in transcript.segments
    )
    return "WEBVTT\n\n" + "\n".join(cues)


def _write_srt(transcript: Transcript) -> str:
    cues = (
        f"{number}\n{caption_stamp(s.start_ms, decimal=',')} --> {caption_stamp(_seen(s), decimal=',')}\n"
        f"{s.text.replace('-->', '->')}\n"
        for number, s in enumerate(transcript.segments, 1)
    )
    return "\n".join(cues)


def _seen(segment: Segment) -> int:
    """A caption must end after it starts (W3C WebVTT, cue timings)."""
    return max(segment.end_ms, segment.start_ms + 1)


def _write_text(transcript: Transcript) -> str:
    return "".join(f"{s.text}\n" for s in transcript.segments)


def _write_json(transcript: Transcript) -> str:
    return json.dumps(transcript_json(transcript), ensure_ascii=False, indent=1) + "\n"


_READERS: dict[str, Callable[[str, str], Transcript]] = {
    ".vtt": _read_vtt,
    ".srt": _read_srt,
    ".txt": _read_text,
    ".json": _read_json,
}
_WRITERS: dict[str, Callable[[Transcript], str]] = {
    ".vtt": _write_vtt,
    ".srt": _write_srt,
    ".txt": _write_text,
    ".json": _write_json,
}
