"""One paper in four forms: the same words, nothing lost, nothing acting as markup, kept edits."""

import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_notes import note, watched

from lexicon import Lexicon
from notes.archive.people import KnownPerson
from notes.errors import TapesideError
from notes.report.critique import make_critique
from notes.report.document import (
    Block,
    Bullets,
    Document,
    Heading,
    Paragraph,
    Picture,
    Quote,
    Run,
    Section,
    Table,
    heading,
    lines_of,
    run,
)
from notes.report.edits import finish
from notes.report.letter import Shown, critique_document
from notes.report.markdown import read_blocks, write_blocks
from notes.report.page import write_page
from notes.report.paper import write_paper
from notes.report.pdf import showable, write_pdf
from notes.report.word_file import write_word_file

MARKUP = "<b>*Mo*</b> _x_ [a](b) `c` #set $x$ @y \\ | {{ 7*7 }} {% x %} & &amp; <!-- -- > \"'"
SCRIPTS = {
    "Polish": "Żółć", "Vietnamese": "Nguyễn Thị Ánh", "Greek": "Ελένη", "Russian": "Юлия", "Arabic": "محمد", "Hebrew": "שרה",
    "Hindi": "प्रिया", "Thai": "สมชาย", "Chinese": "王小明", "Japanese": "さくら", "Korean": "김민준", "Georgian": "ნინო",
    "Armenian": "Արամ", "Amharic": "ሰላም", "Tamil": "தமிழ்", "Cherokee": "ᏣᎳᎩ", "emoji": "Kim 🥊", "cuneiform": "𒀀𒈾",
}  # fmt: skip


SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><path d="M0 20 40 0" stroke="#000"/></svg>'


def text_of_page(page: str) -> str:
    class Reader(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.parts: list[str] = []
            self.silent = 0

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.silent += tag in ("style", "head")

        def handle_endtag(self, tag: str) -> None:
            self.silent -= tag in ("style", "head")

        def handle_data(self, data: str) -> None:
            if not self.silent:
                self.parts.append(data)

    reader = Reader()
    reader.feed(page)
    return "".join(reader.parts)


def text_of_word_file(data: bytes) -> str:
    """The text as python-docx reads it, tables in their place."""
    import docx

    return "\n".join(
        t.text for t in docx.Document(BytesIO(data)).element.body.iter() if t.tag.endswith("}t") and t.text
    )


def text_of_pdf(data: bytes, tmp_path: Path) -> str:
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext (poppler-utils) is not installed, so the PDF's text is not read by an outside reader")
    file = tmp_path / "read.pdf"
    file.write_bytes(data)
    done = subprocess.run(["pdftotext", "-layout", "-nopgbrk", file, "-"], capture_output=True, check=True)
    return done.stdout.decode()


def squeezed(text: str) -> str:
    return re.sub(r"\s|­", "", text)


def letter(lexicon: Lexicon, name: str = "Mara", quote: str = "Hands up, please, on the way out.") -> Document:
    person = KnownPerson(1, name, None, junior=False)
    notes = [
        note("hands-low", quote=quote),
        note("no-setup", at_s=60, quote=quote),
        note("strength:jab", at_s=5, quote=quote),
        note("welfare:", at_s=9, quote=quote),
        note("advice:", at_s=90, quote=quote),
    ]
    day = notes[0].day
    return critique_document(make_critique(person, notes, watched(1), lexicon, day, day), lexicon, Shown())


def test_the_four_forms_say_the_same(vocabulary: Lexicon, tmp_path: Path) -> None:
    bare = letter(vocabulary, MARKUP, f"He said {MARKUP} twice.")
    document = finish(bare)
    lines = list(lines_of(document))

    write_paper(bare, tmp_path / "c.md")
    body = "\n".join(s for s in (tmp_path / "c.md").read_text().splitlines() if not s.startswith("<!--"))
    texts = {
        "md": "".join(lines_of(Document("", "", (Section("all", read_blocks(body)),)))),
        "html": text_of_page(write_page(document)),
        "docx": text_of_word_file(write_word_file(document)),
    }

    for form, text in texts.items():
        assert squeezed(text) == squeezed("".join(lines)), form


def test_the_pdf_says_the_same_to_an_outside_reader(vocabulary: Lexicon, tmp_path: Path) -> None:
    """By pdftotext (poppler-utils), whose order of lines is that of the page."""
    document = letter(vocabulary, MARKUP)

    text = squeezed(
        re.sub(r"•|^\s*\d+\s*/\s*\d+\s*$", "", text_of_pdf(write_pdf(document), tmp_path), flags=re.MULTILINE)
    )

    assert text == squeezed("".join(lines_of(document)))


def test_the_word_file_says_the_same_to_an_office_program(vocabulary: Lexicon, tmp_path: Path) -> None:
    """By LibreOffice: the words in their order, a plot as a picture."""
    if not shutil.which("soffice"):
        pytest.skip("LibreOffice (libreoffice-writer) is not installed, so the DOCX is not opened by an outside reader")
    document = letter(vocabulary, MARKUP)
    plot = Picture(SVG, "a plot", "svg")
    document = replace(
        document, sections=(*document.sections, Section("plot", (heading(2, "Plot"),), pictures=(plot,)))
    )
    (tmp_path / "c.docx").write_bytes(write_word_file(document))

    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    office = ["soffice", profile, "--headless", "--convert-to", "odt"]
    subprocess.run([*office, "--outdir", tmp_path, tmp_path / "c.docx"], capture_output=True, check=True)

    with zipfile.ZipFile(tmp_path / "c.odt") as opened:
        body = ET.fromstring(opened.read("content.xml")).find("{*}body")
        assert body is not None
        assert squeezed("".join(body.itertext())) == squeezed("".join([*lines_of(document), plot.alt]))
        pictures = [name for name in opened.namelist() if name.startswith("Pictures/")]
    assert [Path(name).suffix for name in pictures] == [".png"]
    with zipfile.ZipFile(tmp_path / "c.docx") as packed:
        assert [packed.read(name) for name in packed.namelist() if name.endswith(".svg")] == [SVG]
        assert b"image/svg+xml" in packed.read("[Content_Types].xml")


def test_the_pdf_is_tagged_has_its_language_and_embeds_its_fonts(vocabulary: Lexicon) -> None:
    """By pypdf: the marks of PDF/UA-1 (ISO 14289-1: 7.1 tagged, 7.2 language, 7.21.4 fonts embedded, 5 identification)."""
    import pypdf

    pdf = pypdf.PdfReader(BytesIO(write_pdf(letter(vocabulary))))
    root = pdf.trailer["/Root"]
    fonts = [font.get_object() for page in pdf.pages for font in page["/Resources"]["/Font"].values()]
    descriptors = [f["/DescendantFonts"][0].get_object()["/FontDescriptor"] for f in fonts]

    assert root["/Lang"].startswith("en")
    assert root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part>1<" in root["/Metadata"].get_object().get_data()
    assert pdf.metadata and pdf.metadata.title == "Mara: critique of 1 March 2031"
    assert descriptors and all({"/FontFile", "/FontFile2", "/FontFile3"} & set(d.get_object()) for d in descriptors)


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_name_in_any_script_can_be_put_on_paper(vocabulary: Lexicon, script: str, tmp_path: Path) -> None:
    name = SCRIPTS[script]
    document = letter(vocabulary, name)

    pdf = write_pdf(document)

    assert name in write_page(document) and name in text_of_word_file(write_word_file(document))
    shown = showable(name)
    assert shown == name or script in ("cuneiform", "Cherokee", "emoji")
    if script not in (
        "Arabic",
        "Hebrew",
        "Hindi",
        "Thai",
        "Tamil",
    ):  # Shaped or turned letters come back in another order.
        assert squeezed(shown) in squeezed(text_of_pdf(pdf, tmp_path))


SIGNS = st.sampled_from("ab*_`[]()<>#|\\&;~!-+=1.:> /\"'“é漢عא{}$@%") | st.characters()
TEXTS = st.text(SIGNS, min_size=1, max_size=30).map(lambda t: run(t).text).filter(bool)
RUNS = st.lists(TEXTS, min_size=1, max_size=3).map(lambda ts: tuple(Run(t, i % 2 == 1) for i, t in enumerate(ts)))
BLOCKS = st.one_of(
    st.builds(Heading, st.integers(1, 3), RUNS),
    st.builds(Paragraph, RUNS),
    st.builds(Quote, RUNS),
    st.builds(lambda items: Bullets(tuple(items)), st.lists(RUNS, min_size=1, max_size=3)),
    st.builds(lambda a, b: Table((a, b), ((b, a),)), RUNS, RUNS),
)


@given(BLOCKS)
@settings(max_examples=300, deadline=None)
def test_any_text_comes_back_from_markdown_as_it_was(block: Block) -> None:
    assert read_blocks(write_blocks((block,))) == (block,)


@given(st.text(SIGNS, max_size=40), st.text(SIGNS, max_size=40))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_name_and_any_quote_stay_text_in_every_form(vocabulary: Lexicon, name: str, quote: str) -> None:
    document = letter(vocabulary, name, quote)
    wanted = squeezed("".join(lines_of(document)))

    assert squeezed(text_of_page(write_page(document))) == wanted
    assert squeezed(text_of_word_file(write_word_file(document))) == wanted
    assert write_pdf(document).startswith(b"%PDF-")


def test_the_page_asks_nothing_of_other_machines(vocabulary: Lexicon) -> None:
    page = write_page(letter(vocabulary, quote='<img src="https://example.org/x.png"> <script>alert(1)</script>'))

    tags = re.findall(r"<(\w+)", re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL))
    assert not {"script", "link", "iframe", "img"} & set(tags)
    assert "url(" not in page and "@import" not in page and "default-src 'none'" in page


def test_pictures_have_words_in_their_place(vocabulary: Lexicon) -> None:
    from PIL import Image

    drawn = BytesIO()
    Image.new("RGB", (64, 36), "teal").save(drawn, "JPEG")
    pictures = (Picture(drawn.getvalue(), "Round 1, 0:57"), Picture(SVG, "Rates", "svg"))
    document = Document("T", "t", (Section("a", (Heading(1, (run("T"),)), Paragraph((run("x"),))), pictures=pictures),))

    assert 'alt="Round 1, 0:57"' in write_page(document) and 'alt="Rates"' in write_page(document)
    assert b"/Alt" in write_pdf(document)
    import docx

    words = docx.Document(BytesIO(write_word_file(document)))
    assert "Round 1, 0:57" in ET.tostring(words.element.body, encoding="unicode")


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_edited_words_stay_when_the_paper_is_made_again(vocabulary: Lexicon, tmp_path: Path) -> None:
    out = tmp_path / "c.md"
    write_paper(letter(vocabulary, quote="Hands up, please."), out)
    edit(out, "Keep the door shut.", "Mara, **gloves** on your cheeks!")

    for quote in ("Newer words.", "Newest words."):
        edits = write_paper(letter(vocabulary, quote=quote), out)
        text = out.read_text()
        assert list(edits.changed) == ["point-hands-low"]
        assert "Mara, **gloves** on your cheeks!" in text and "Hands up, please." in text
        assert quote in text

    write_paper(letter(vocabulary), tmp_path / "c.html", edited=out)
    assert "<strong>gloves</strong> on your cheeks!" in (tmp_path / "c.html").read_text()
    write_paper(letter(vocabulary), tmp_path / "c.pdf", edited=out)
    assert "gloves on your cheeks!" in " ".join(text_of_pdf((tmp_path / "c.pdf").read_bytes(), tmp_path).split())


def test_what_was_taken_out_stays_out(vocabulary: Lexicon, tmp_path: Path) -> None:
    out = tmp_path / "c.md"
    write_paper(letter(vocabulary), out)
    out.write_text(re.sub(r"<!-- part advice .*?(?=<!-- part)", "", out.read_text(), flags=re.DOTALL))

    for _ in range(2):
        assert write_paper(letter(vocabulary), out).removed == {"advice"}
        assert "Also worth trying" not in out.read_text()


def test_an_edited_part_that_would_not_be_written_any_more_is_kept(vocabulary: Lexicon, tmp_path: Path) -> None:
    out = tmp_path / "c.md"
    document = letter(vocabulary)
    write_paper(document, out)
    edit(out, "Make them look somewhere else first.", "Show the jab.")
    less = Document(document.title, document.subject, tuple(s for s in document.sections if s.key != "point-no-setup"))

    write_paper(less, out)

    assert "Show the jab." in out.read_text()


def test_an_untouched_paper_is_made_anew_and_equal(vocabulary: Lexicon, tmp_path: Path) -> None:
    out = tmp_path / "c.md"
    write_paper(letter(vocabulary), out)
    first = out.read_bytes()

    assert not write_paper(letter(vocabulary), out).changed and out.read_bytes() == first


def test_another_paper_or_a_strangers_file_is_not_written_over(vocabulary: Lexicon, tmp_path: Path) -> None:
    other, own = tmp_path / "nia.md", tmp_path / "diary.md"
    write_paper(letter(vocabulary, "Nia"), other)
    own.write_text("# My diary\n")

    with pytest.raises(TapesideError, match="holds the critique of Nia"):
        write_paper(letter(vocabulary), other)
    with pytest.raises(TapesideError, match="was not written by tapeside"):
        write_paper(letter(vocabulary), own)
    assert own.read_text() == "# My diary\n"


def test_another_ending_is_refused(vocabulary: Lexicon, tmp_path: Path) -> None:
    with pytest.raises(TapesideError, match="must end in"):
        write_paper(letter(vocabulary), tmp_path / "c.xyz")
