"""A document written to a file in the form that the file's ending asks for."""

from collections.abc import Callable
from pathlib import Path

from notes.errors import TapesideError
from notes.report.document import Document
from notes.report.edits import NO_EDITS, Edits, finish, read_edits, write_marked
from notes.report.page import write_page
from notes.report.pdf import write_pdf
from notes.report.word_file import write_word_file

_FORMS: dict[str, Callable[[Document, Edits], bytes]] = {
    ".md": lambda document, edits: write_marked(document, edits).encode(),
    ".html": lambda document, _: write_page(document).encode(),
    ".pdf": lambda document, _: write_pdf(document),
    ".docx": lambda document, _: write_word_file(document),
}
ENDINGS = tuple(_FORMS)


def check_ending(out: Path) -> None:
    """Raise TapesideError unless a paper can be written under this name."""
    if out.suffix.lower() not in _FORMS:
        raise TapesideError(f'"{out}" must end in {", ".join(_FORMS)}; the ending chooses the form')


def write_paper(document: Document, out: Path, edited: Path | None = None) -> Edits:
    """Write a paper; give back the person's changes that were kept.

    They come from `edited`, a Markdown form that a person changed; writing over such a form keeps its changes by
    itself.
    Raises TapesideError for another ending, another paper, and a file that cannot be read or written.
    """
    check_ending(out)
    source = edited or (out if out.suffix.lower() == ".md" and out.exists() else None)
    edits = read_edits(source, document.subject) if source else NO_EDITS
    data = _FORMS[out.suffix.lower()](finish(document, edits), edits)
    try:
        part = out.with_name(f".{out.name}.part")
        part.write_bytes(data)
        part.replace(out)
    except OSError as error:
        raise TapesideError(f'Cannot write "{out}" ({error.strerror})') from None
    return edits
