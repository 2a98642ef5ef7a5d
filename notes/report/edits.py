"""A person's changes to a written paper, kept when it is made again.

The Markdown form is the one to edit. A mark before each part holds a fingerprint of the words as they were written; a
part whose words no longer fit its mark was edited, a part that the file's first line names but that is not there was
taken out. Both stay so. Everything else is made anew.
"""

import re
from dataclasses import dataclass, replace
from pathlib import Path

from notes.errors import TapesideError
from notes.report.document import Document, Section, sources
from notes.report.markdown import read_blocks, write_blocks
from notes.report.wording import fingerprint

_HEAD = re.compile(r"^<!-- tapeside: (?P<subject>.*); parts: (?P<parts>[a-z0-9 -]*) -->$", re.MULTILINE)
_MARK = re.compile(r"^<!-- part (?P<key>[a-z0-9-]+) (?P<print>[0-9a-f]{8}) -->$", re.MULTILINE)
_HINT = (
    "<!-- Change any words below; leave lines like this one. What you changed stays when the paper is made again. -->"
)


@dataclass(frozen=True, slots=True)
class Edits:
    """What a person changed: the words of parts by key, and the parts that were taken out."""

    changed: dict[str, str]
    removed: frozenset[str]


NO_EDITS = Edits({}, frozenset())


def write_marked(document: Document, edits: Edits = NO_EDITS) -> str:
    """The paper as Markdown with its marks, which remember what was edited or taken out already."""
    sections = [section for section in document.sections if section.blocks]
    keys = " ".join((*(section.key for section in sections), *sorted(edits.removed)))
    parts = [f"<!-- tapeside: {_quiet(document.subject)}; parts: {keys} -->\n{_HINT}"]
    for section in sections:
        text = write_blocks(section.blocks)
        mark = "0" * 8 if section.key in edits.changed else fingerprint(text)
        parts.append(f"<!-- part {section.key} {mark} -->\n{text}")
    return "\n\n".join(parts) + "\n"


def read_edits(path: Path, subject: str) -> Edits:
    """The changes in a paper that was written before. Raises TapesideError where the file is another one."""
    try:
        text = path.read_text(encoding="utf-8-sig").replace("\r\n", "\n")
    except (OSError, UnicodeDecodeError) as error:
        raise TapesideError(f'Cannot read "{path}" ({error}); choose another name') from None
    head = _HEAD.search(text)
    if head is None:
        raise TapesideError(f'"{path}" was not written by tapeside; choose another name, so that it is not lost')
    if head["subject"] != _quiet(subject):
        raise TapesideError(
            f'"{path}" holds the {head["subject"]}, and this is the {subject}; choose another name for this one'
        )
    marks = list(_MARK.finditer(text))
    bodies = {
        mark["key"]: (mark["print"], text[mark.end() : end].strip("\n"))
        for mark, end in zip(marks, [*(m.start() for m in marks[1:]), len(text)], strict=True)
    }
    changed = {key: body for key, (seen, body) in bodies.items() if body.strip() and fingerprint(body) != seen}
    gone = {key for key in head["parts"].split() if not bodies.get(key, ("", ""))[1].strip()}
    return Edits(changed, frozenset(gone))


def finish(document: Document, edits: Edits = NO_EDITS) -> Document:
    """The paper with a person's words and its small print. An edited part that would no longer be written is kept."""
    left = [section for section in document.sections if section.key not in edits.removed]
    made = {section.key for section in left} | {"sources"}
    lost = [Section(key, read_blocks(text)) for key, text in edits.changed.items() if key not in made]
    small = [] if "sources" in edits.removed else [sources(left)]
    told = [
        replace(section, blocks=read_blocks(edits.changed[section.key])) if section.key in edits.changed else section
        for section in (*left, *lost, *small)
    ]
    return replace(document, sections=tuple(section for section in told if section.blocks))


def _quiet(subject: str) -> str:
    """A subject that cannot end the comment it stands in."""
    return re.sub(r"-{2,}|[<>;\n]", " ", subject)
