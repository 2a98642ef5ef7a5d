"""Caption times are checked against the W3C WebVTT grammar, "WebVTT timestamp" and "WebVTT file"."""

from pathlib import Path

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from notes.errors import BadTranscript, TapesideError
from notes.model import Dropped, Segment, Transcript, Word
from notes.speech.transcripts import read_transcript, write_transcript
from notes.times import Played, TimeMap


def read(tmp_path: Path, text: str, ending: str = ".vtt") -> Transcript:
    path = tmp_path / f"talk{ending}"
    path.write_text(text, encoding="utf-8")
    return read_transcript(path)


def cue(time: str) -> str:
    return f"WEBVTT\n\n{time}\nHello\n"


@pytest.mark.parametrize(
    ("stamp", "ms"),
    [
        ("00:00.000", 0),
        ("00:01.500", 1_500),
        ("59:59.999", 3_599_999),
        ("00:59:59.999", 3_599_999),
        ("01:00:00.000", 3_600_000),
        ("100:00:00.000", 360_000_000),
    ],
)
def test_times_that_the_grammar_allows(tmp_path: Path, stamp: str, ms: int) -> None:
    found = read(tmp_path, cue(f"{stamp} --> 200:00:00.000"))

    assert found.segments[0].start_ms == ms


@pytest.mark.parametrize(
    "stamp",
    [
        "00:60.000", "60:00.000", "1:00.000", "1:00:00.000", "00:00:01.5", "00:00:01.50", "00:00:01.5000",
        "00:00:01,500", "00:00:01", "01.500", "-00:01.000", "٠٠:٠١.000", "", "soon",
    ],
)  # fmt: skip
def test_times_that_the_grammar_forbids_are_named_by_line(tmp_path: Path, stamp: str) -> None:
    with pytest.raises(BadTranscript, match=r"talk.vtt:3: .*not a caption time"):
        read(tmp_path, cue(f"{stamp} --> 200:00:00.000"))


@pytest.mark.parametrize("header", ["webvtt", "WEBVTTX", "", "1", "\nWEBVTT"])
def test_a_file_without_its_header_is_refused(tmp_path: Path, header: str) -> None:
    with pytest.raises(BadTranscript, match=r"talk.vtt:1: .*WEBVTT"):
        read(tmp_path, f"{header}\n\n00:00.000 --> 00:01.000\nHello\n")


@pytest.mark.parametrize("end_of_line", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_any_line_ending_and_a_byte_order_mark_are_fine(tmp_path: Path, end_of_line: str, mark: str) -> None:
    text = mark + cue("00:00.000 --> 00:01.000").replace("\n", end_of_line)
    path = tmp_path / "talk.vtt"
    path.write_bytes(text.encode())

    assert read_transcript(path).segments[0].text == "Hello"


def test_notes_styles_settings_names_and_tags_are_not_words(tmp_path: Path) -> None:
    text = (
        "WEBVTT - a title\n\nNOTE not said\n\nSTYLE\n::cue {}\n\nintro\n00:00.000 --> 00:02.000 align:start\n"
        "<v Imre>Hands <00:01.000><i>up</i> &amp; move</v>\nnow\n"
    )

    assert [s.text for s in read(tmp_path, text).segments] == ["Hands up & move now"]


def test_a_caption_that_ends_before_it_starts_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadTranscript, match="talk.vtt:3: the caption ends before it starts"):
        read(tmp_path, cue("00:02.000 --> 00:01.000"))


def test_srt_is_read_and_its_broken_times_named(tmp_path: Path) -> None:
    good = "1\n00:00:01,000 --> 00:00:02,500\nHands\nup\n\n2\n00:00:03,000 --> 00:00:04,000\nGood\n"

    assert [(s.start_ms, s.end_ms, s.text) for s in read(tmp_path, good, ".srt").segments] == [
        (1_000, 2_500, "Hands up"),
        (3_000, 4_000, "Good"),
    ]
    with pytest.raises(BadTranscript, match="talk.srt:7"):
        read(tmp_path, good.replace("00:00:03,000", "00:00:63,000"), ".srt")


def test_another_language_is_refused(tmp_path: Path) -> None:
    text = '{"schema": "tapeside-transcript/1", "language": "de", "segments": []}'

    with pytest.raises(BadTranscript, match='language: the transcript is in "de"; .* English'):
        read(tmp_path, text, ".json")


def test_what_was_dropped_is_kept_beside_the_words(tmp_path: Path) -> None:
    lost = (Dropped(1_000, 2_500, "Thanks for watching.", "a stock phrase"),)
    path = tmp_path / "out.json"
    write_transcript(Transcript((Segment(0, 900, "Jab."),), model="base", dropped=lost), path)

    assert read_transcript(path).dropped == lost


def test_plain_text_keeps_its_order_and_claims_no_times(tmp_path: Path) -> None:
    found = read(tmp_path, "Hands up.\n\nGood.\n", ".txt")

    assert [s.text for s in found.segments] == ["Hands up.", "Good."]
    assert not found.timed


def test_plain_text_may_give_times(tmp_path: Path) -> None:
    found = read(tmp_path, "0:05 Hands up.\n[1:02] Good.\n", ".txt")

    assert [(s.start_ms, s.end_ms, s.text) for s in found.segments] == [
        (5_000, 62_000, "Hands up."),
        (62_000, 62_000, "Good."),
    ]
    assert found.timed


@pytest.mark.parametrize(
    ("text", "told"),
    [("{}", "schema"), ("[", "Invalid JSON"), ('{"schema": "tapeside-transcript/9", "segments": []}', "schema")],
)
def test_other_json_is_refused(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(BadTranscript, match=told):
        read(tmp_path, text, ".json")


@pytest.mark.parametrize("text", ["", "  \n"])
def test_an_empty_file_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(BadTranscript, match="is empty"):
        read(tmp_path, text)


def test_what_was_said_survives_every_form(tmp_path: Path) -> None:
    words = (Word("A<b>", 0, 400, 0.5), Word("&", 400, 600, 0.9, heard="and"), Word("c", 600, 900, 1.0))
    talk = Transcript((Segment(0, 900, "A<b> & c", words),), model="base")

    for ending in (".vtt", ".srt", ".txt", ".json"):
        path = tmp_path / f"out{ending}"
        write_transcript(talk, path)
        again = read_transcript(path).segments[0]
        assert (again.text if ending != ".srt" else "A<b> & c") == "A<b> & c", ending
        if ending == ".json":
            assert again == talk.segments[0]


def test_our_captions_satisfy_another_parser(tmp_path: Path) -> None:
    """Checked by webvtt-py, which refuses malformed cues."""
    talk = Transcript((Segment(0, 0, "one --> two", ()), Segment(360_000_000, 360_000_500, "late", ())), model="x")
    path = tmp_path / "out.vtt"
    write_transcript(talk, path)

    assert [c.text for c in webvtt.read(str(path))] == ["one --&gt; two", "late"]


def test_an_unknown_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TapesideError, match="must end in"):
        write_transcript(Transcript((), model="x"), tmp_path / "out.doc")


@given(st.text(max_size=300))
def test_any_text_is_a_transcript_or_a_clear_refusal(text: str) -> None:
    from notes.speech.transcripts import _READERS

    for ending, reader in _READERS.items():
        try:
            assert isinstance(reader(text, f"talk{ending}"), Transcript)
        except BadTranscript as error:
            assert "\n" not in str(error)


def test_how_the_footage_was_played_is_kept(tmp_path: Path) -> None:
    playback = TimeMap((Played(0, 5_000, 1.0), Played(2_500, 7_500, 0.0)))
    talk = Transcript((Segment(0, 900, "one"),), model="x", playback=playback)
    write_transcript(talk, tmp_path / "out.json")

    assert read_transcript(tmp_path / "out.json") == talk
