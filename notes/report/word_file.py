"""A paper as a Word file (DOCX), for those who write on in an office program."""

import hashlib
from io import BytesIO
from typing import Any

from notes.report.document import Block, Bullets, Document, Heading, Paragraph, Quote, Runs, Section, Table
from notes.report.pdf import as_png

_VECTOR = """\
<a:extLst xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main">
  <a:ext uri="{{96DAC541-7B7A-43D3-8B79-37D633B846F1}}">
    <asvg:svgBlip xmlns:asvg="http://schemas.microsoft.com/office/drawing/2016/SVG/main"
      xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships" r:embed="{}"/>
  </a:ext>
</a:extLst>"""
_LEAD = "9A4A12"
_WARN = "FFF3D6"


def write_word_file(document: Document) -> bytes:
    """The DOCX of a paper. Plots are vectors, with a PNG for programs that show none."""
    import docx
    from docx.shared import Mm, Pt, RGBColor

    file = docx.Document()
    file.core_properties.title = document.title
    file.core_properties.language = document.language
    file.core_properties.author = ""
    for section in file.sections:
        section.page_width, section.page_height = Mm(210), Mm(297)
        section.left_margin = section.right_margin = Mm(22)
        section.top_margin = section.bottom_margin = Mm(20)
    file.styles["Normal"].font.size = Pt(10.5)
    file.styles["Normal"].paragraph_format.space_after = Pt(5)
    for level, size in ((1, 19), (2, 12), (3, 12)):
        style = file.styles[f"Heading {level}"]
        style.font.size = Pt(size)
        style.font.color.rgb = RGBColor.from_string(_LEAD if level == 2 else "1D2227")
    file.styles["Quote"].paragraph_format.left_indent = Mm(5)
    for part in document.sections:
        _section(file, part)
    out = BytesIO()
    file.save(out)
    return out.getvalue()


def _section(file: Any, section: Section) -> None:
    from docx.shared import Mm, Pt

    for block in section.blocks:
        for written in _block(file, block):
            if section.look == "caution":
                _shade(written)
            if section.look == "small":
                for r in written.runs:
                    r.font.size = Pt(8)
    for picture in section.pictures:
        vector = picture.form == "svg"
        shown = as_png(picture) if vector else picture.data
        shape = file.add_picture(BytesIO(shown), width=Mm(150 if vector else 62))
        shape._inline.docPr.set("descr", picture.alt)
        if vector:
            _add_vector(file, shape, picture.data)


def _add_vector(file: Any, shape: Any, svg: bytes) -> None:
    """Give a picture its vectors. Source: [MS-ODRAWXML], svgBlip (from memory)."""
    from docx.opc.constants import RELATIONSHIP_TYPE
    from docx.opc.packuri import PackURI
    from docx.opc.part import Part
    from docx.oxml import parse_xml

    package = file.part.package
    name = PackURI(f"/word/media/{hashlib.sha256(svg).hexdigest()[:16]}.svg")
    related = file.part.relate_to(Part(name, "image/svg+xml", svg, package), RELATIONSHIP_TYPE.IMAGE)
    blip = next(e for e in shape._inline.iter() if e.tag.endswith("}blip"))
    blip.append(parse_xml(_VECTOR.format(related)))


def _block(file: Any, block: Block) -> list[Any]:
    match block:
        case Heading(level, runs):
            return [_fill(file.add_heading("", level), runs)]
        case Paragraph(runs):
            return [_fill(file.add_paragraph(), runs)]
        case Quote(runs):
            return [_fill(file.add_paragraph(style="Quote"), runs)]
        case Bullets(items):
            return [_fill(file.add_paragraph(style="List Bullet"), item) for item in items]
        case Table(head, rows):
            table = file.add_table(0, len(head), style="Light List")
            for row in (head, *rows):
                for cell, runs in zip(table.add_row().cells, row, strict=True):
                    _fill(cell.paragraphs[0], runs)
            return []


def _fill(paragraph: Any, runs: Runs) -> Any:
    shown = [r for r in runs if r.text]
    for place, r in enumerate(shown):
        paragraph.add_run(f" {r.text}" if place else r.text).bold = True if r.strong else None
    return paragraph


def _shade(paragraph: Any) -> None:
    from docx.oxml import OxmlElement
    from docx.oxml.ns import qn

    shade = OxmlElement("w:shd")
    for key, value in (("val", "clear"), ("color", "auto"), ("fill", _WARN)):
        shade.set(qn(f"w:{key}"), value)
    paragraph._p.get_or_add_pPr().append(shade)
