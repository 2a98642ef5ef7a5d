"""What every paper is made of: sections of plain blocks. A rendering adds looks, never words."""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

# Numbers of notes in the small print of one part; the HTML form carries all.
MOST_TRACED = 12


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text in one weight. Make it with `run`, which takes out what no form can show."""

    text: str
    strong: bool = False


Runs = tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is the document's own."""

    level: int
    runs: Runs


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    runs: Runs


@dataclass(frozen=True, slots=True)
class Quote:
    """The coach's own words."""

    runs: Runs


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short lines."""

    items: tuple[Runs, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table: one heading row, then rows of as many cells."""

    head: tuple[Runs, ...]
    rows: tuple[tuple[Runs, ...], ...]


Block = Heading | Paragraph | Quote | Bullets | Table


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with the words that stand for it. `form` is the ending of its file."""

    data: bytes
    alt: str
    form: Literal["jpg", "svg"] = "jpg"


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a paper, named by `key` (small letters, digits, single hyphens), with the notes it stands on.

    Pictures are shown in every form but Markdown, which stays a single text file.
    """

    key: str
    blocks: tuple[Block, ...]
    notes: tuple[str, ...] = ()
    look: Literal["plain", "caution", "small"] = "plain"
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """A whole paper. `subject` tells one paper from another of the same kind: "critique of Mara, 2031-03-14"."""

    title: str
    subject: str
    sections: tuple[Section, ...]
    language: str = "en"


def plain(text: str) -> str:
    """Text fit for every form: one line, no control characters, no halves of characters."""
    kept = "".join(c if unicodedata.category(c) not in ("Cc", "Cs", "Cn", "Zl", "Zp") else " " for c in text)
    return " ".join(kept.split())


def run(text: str, *, strong: bool = False) -> Run:
    """A stretch of text, made plain."""
    return Run(plain(text), strong)


def heading(level: int, text: str) -> Heading:
    """A heading of one weight."""
    return Heading(level, (run(text),))


def paragraph(*texts: str) -> Paragraph:
    """A paragraph of one weight."""
    return Paragraph((run(" ".join(texts)),))


def labelled(label: str, text: str) -> Runs:
    """A line that starts with its name in bold."""
    return (run(f"{label}:", strong=True), run(text))


def text_of(runs: Runs) -> str:
    """The runs as one text, a space between them."""
    return " ".join(r.text for r in runs if r.text)


def sources(sections: Sequence[Section]) -> Section:
    """The small print that says on which notes of the log each part stands; empty where none stands on any."""
    told: dict[tuple[str, ...], str] = {}
    for section in sections:
        title = section.blocks[0] if section.blocks else None
        if section.notes and isinstance(title, Heading):
            shown = ", ".join(section.notes[:MOST_TRACED])
            more = len(section.notes) - MOST_TRACED
            told.setdefault(section.notes, f"{text_of(title.runs)}: {shown}{f' and {more} more' if more > 0 else ''}")
    items = tuple((run(line),) for line in told.values())
    blocks: tuple[Block, ...] = (paragraph("Where each part comes from, by the numbers of the notes in the log:"),)
    return Section("sources", (*blocks, Bullets(items)) if items else (), look="small")


def lines_of(document: Document) -> Iterator[str]:
    """Every text of a document, in order; the measure that all forms are held to."""
    for section in document.sections:
        for block in section.blocks:
            match block:
                case Bullets(items):
                    yield from map(text_of, items)
                case Table(head, rows):
                    yield from (text_of(cell) for row in (head, *rows) for cell in row)
                case _:
                    yield text_of(block.runs)
