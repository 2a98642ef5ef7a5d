"""A paper as PDF: tagged for screen readers (PDF/UA-1), its language set, its fonts embedded, any script shown.

Typst sets it; the words travel as JSON and are never markup. Source Sans is the face, Kurinto (both SIL Open Font
License, from the package weblate-fonts) covers the world's scripts. Typst refuses a PDF/UA with a sign that no font
has, so what is left is written in Latin letters (anyascii).
"""

import json
import tempfile
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from notes.report.document import Bullets, Document, Picture, Runs, Section, Table, lines_of, text_of

FACES = {
    "Source Sans 3": "source-sans/ttf/SourceSans3-Regular.ttf",
    "Kurinto Sans": "kurinto/ttf/KurintoSans-Rg.ttf",
    "Kurinto Sans JP": "kurinto/ttf/KurintoSansJP-Rg.ttf",
    "Kurinto Sans SC": "kurinto/ttf/KurintoSansSC-Rg.ttf",
    "Kurinto Sans TC": "kurinto/ttf/KurintoSansTC-Rg.ttf",
    "Kurinto Sans KR": "kurinto/ttf/KurintoSansKR-Rg.ttf",
}
FIRST_FACE = "Source Sans 3"


def write_pdf(document: Document) -> bytes:
    """The PDF of a paper, A4."""
    import typst

    with tempfile.TemporaryDirectory() as made, as_file(_fonts()) as fonts:
        folder = Path(made)
        data = _data(document, folder)
        (folder / "document.json").write_text(json.dumps(data), encoding="utf-8")
        opened = {(fonts / FACES[face]).parent for face in data["fonts"]}
        template = files("notes.report") / "templates" / "document.typ"
        (folder / "document.typ").write_text(template.read_text(encoding="utf-8"), encoding="utf-8")
        pdf: bytes = typst.compile(
            folder / "document.typ",
            root=folder,
            font_paths=sorted(opened),
            ignore_system_fonts=True,
            pdf_standards=["ua-1"],
        )
    return pdf


def as_png(picture: Picture) -> bytes:
    """A vector picture as PNG in its own size, 200 dots an inch, for forms that take no vectors."""
    import typst

    with tempfile.TemporaryDirectory() as made, as_file(_fonts() / FACES[FIRST_FACE]) as font:
        folder = Path(made)
        (folder / "picture.svg").write_bytes(picture.data)
        page = '#set page(width: auto, height: auto, margin: 0pt)\n#image("picture.svg")'
        (folder / "picture.typ").write_text(page, encoding="utf-8")
        png: bytes = typst.compile(folder / "picture.typ", root=folder, font_paths=[font.parent], format="png", ppi=200)
    return png


def showable(text: str) -> str:
    """The text with every sign that no font has written in Latin letters."""
    return "".join(c if _face_of(c) else _latin(c) for c in text)


def _latin(sign: str) -> str:
    from anyascii import anyascii

    return str(anyascii(sign)) or "?"


def _face_of(sign: str) -> str | None:
    """The first face that has a sign; a font is opened only when those before it lack it."""
    return next((face for face, path in FACES.items() if ord(sign) in _signs_of(path)), None)


@cache
def _signs_of(path: str) -> frozenset[int]:
    from fontTools.ttLib import TTFont

    with as_file(_fonts() / path) as file, TTFont(file, lazy=True) as font:
        return frozenset(font.getBestCmap())


def _fonts() -> Any:
    return files("weblate_fonts") / "static" / "weblate_fonts"


def _data(document: Document, folder: Path) -> dict[str, Any]:
    used = set("".join(lines_of(document)))
    faces = {FIRST_FACE} | {face for sign in used if (face := _face_of(sign))}
    return {
        "title": showable(document.title),
        "language": document.language,
        "fonts": [face for face in FACES if face in faces],
        "sections": [_section(section, folder) for section in document.sections if section.blocks],
    }


def _section(section: Section, folder: Path) -> dict[str, Any]:
    pictures = []
    for number, picture in enumerate(section.pictures):
        name = f"{section.key}-{number}.{picture.form}"
        (folder / name).write_bytes(picture.data)
        pictures.append({"file": name, "alt": showable(picture.alt), "wide": picture.form == "svg"})
    return {"look": section.look, "blocks": [_block(block) for block in section.blocks], "pictures": pictures}


def _block(block: Any) -> dict[str, Any]:
    kind = {"kind": type(block).__name__}
    if isinstance(block, Bullets):
        return kind | {"items": [_runs(item) for item in block.items]}
    if isinstance(block, Table):
        rows = [[{"runs": _runs(cell)} for cell in row] for row in block.rows]
        return kind | {"head": [_runs(cell) for cell in block.head], "rows": rows, "columns": _widths(block)}
    return kind | {"runs": _runs(block.runs), "level": getattr(block, "level", 0)}


def _widths(table: Table) -> list[float]:
    """Shares of the page's width by the longest text of each column, none too narrow."""
    columns = zip(table.head, *table.rows, strict=True)
    return [max(8, min(40, max(len(text_of(cell)) for cell in column))) / 8 for column in columns]


def _runs(runs: Runs) -> list[dict[str, Any]]:
    return [{"text": showable(r.text), "strong": r.strong} for r in runs if r.text]
