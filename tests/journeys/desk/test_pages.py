"""Reading back and correcting, as a coach does it."""

import json
import re
import sqlite3
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from notes.archive.archive import Archive

HOSTILE = '<img src=x onerror=alert(1)> & "quoted" {{ 7*7 }} </p><script>alert(2)</script>'


@pytest.fixture
def review(tapeside, talk: Path, sheet: Path, home: Path) -> str:
    """The address of a review that is in the log before the desk is opened."""
    assert tapeside("add", talk, "--sheet", sheet).code == 0
    with sqlite3.connect(home / "tapeside.db") as db:
        return f"/reviews/{db.execute('SELECT sha256 FROM recording').fetchone()[0]}"


def verdicts(home: Path) -> dict[str, str | None]:
    """Of each note in the log: its fault or kind, and what a person said of it."""
    with Archive(home) as archive:
        (recording,) = archive.recordings()
        return {
            (k.observation.faults or (k.observation.kind,))[0]: k.verdict
            for k in archive.observations_in(recording.sha256)
        }


def test_notes_stand_beside_their_words(review: str, desk, page: Page) -> None:
    page.goto(desk.base + review)

    moment = page.locator("section.moment", has_text="tramlines")
    note = moment.locator(".note", has_text="head on centreline")
    words, margin = moment.locator(".words").bounding_box(), note.bounding_box()
    assert words and margin
    assert margin["x"] > words["x"] + words["width"] - 1
    assert abs(margin["y"] - words["y"]) < 30
    expect(page.locator("h2.bell")).to_have_text(["Round 1", "Round 2"])

    note.focus()
    assert "head" in underlined(page)


def underlined(page: Page) -> str:
    """The words that are marked in an athlete's ink."""
    marked = "([...CSS.highlights].filter(([name]) => name.startsWith('ink-')).flatMap(([, ranges]) => [...ranges]))"
    return str(page.evaluate(f"{marked}.map(String).join(' ')"))


def test_selecting_across_paragraphs_chooses_whole_words(review: str, desk, page: Page) -> None:
    page.goto(desk.base + review)
    first, second = (page.locator("p.words").nth(i) for i in (0, 1))
    told = [paragraph.inner_text().split() for paragraph in (first, second)]

    page.evaluate(
        """() => {
          const [first, second] = [...document.querySelectorAll("p.words")].map((p) => p.firstChild);
          getSelection().setBaseAndExtent(first, first.data.lastIndexOf(" ") + 2, second, second.data.indexOf(" ") - 1);
        }"""
    )

    expect(page.locator("#chosen")).to_be_visible()
    assert page.locator("#chosen-words").inner_text().split()[:1] == told[0][-1:]
    assert page.locator("#chosen [name=first]").input_value() == str(len(told[0]) - 1)
    assert page.locator("#chosen [name=last]").input_value() == str(len(told[0]))


def test_a_clicked_word_is_played_and_lights(tapeside, desk, page: Page) -> None:
    """The sound is the demo's; what matters is the time at which it stands."""
    recording = Path(__file__).parents[3] / "demo_audio" / "review.opus"
    assert tapeside("add", recording, "--sheet", recording.with_suffix(".sheet.yaml")).code == 0
    page.goto(desk.base + "/")
    page.get_by_role("link", name="Nora").click()
    paragraph = page.locator("p.words").nth(3)
    words = paragraph.inner_text().split(" ")
    since, times = (paragraph.get_attribute(f"data-{name}") or "" for name in ("start", "times"))
    box = paragraph.evaluate(
        """(p, at) => {
          const before = p.textContent.split(" ").slice(0, at).join(" ").length + 1;
          const range = document.createRange();
          range.setStart(p.firstChild, before);
          range.setEnd(p.firstChild, before + 2);
          const { x, y, width, height } = range.getBoundingClientRect();
          return [x + width / 2, y + height / 2];
        }""",
        4,
    )

    page.mouse.click(*box)

    due = (int(since) + int(times.split()[4])) / 1000
    expect(page.locator("audio")).to_have_js_property("paused", False)
    assert due <= page.evaluate("document.getElementById('sound').currentTime") < due + 3
    lit = page.evaluate(
        """async (seconds) => {
          const sound = document.getElementById("sound");
          sound.pause();
          const sought = new Promise((done) => sound.addEventListener("seeked", done, { once: true }));
          sound.currentTime = seconds;
          await sought;
          await new Promise(requestAnimationFrame);
          return [...CSS.highlights.get("now")].map(String);
        }""",
        due + 0.01,
    )
    assert lit == [words[4]]


def test_everything_by_keyboard(review: str, desk, page: Page, home: Path) -> None:
    page.goto(desk.base + review)
    page.keyboard.press("n")
    expect(page.locator(":focus")).to_have_attribute("data-note", re.compile("."))
    page.keyboard.press("k")
    expect(page.locator(":focus")).to_contain_text("kept")
    page.keyboard.press("u")
    expect(page.locator(":focus")).to_contain_text("sure")
    page.keyboard.press("a")
    expect(page.locator(":focus")).to_have_attribute("name", "fault")
    page.keyboard.press("Control+a")
    page.keyboard.type("chin-up-in-the-air")
    page.keyboard.press("Enter")
    expect(page.locator("[role=alert]")).to_contain_text("did you mean")
    page.locator("input[name=fault]").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("chin-exposed")
    page.keyboard.press("Enter")
    expect(page.locator(":focus")).to_contain_text("chin exposed")
    page.keyboard.press("n")
    page.keyboard.press("s")
    expect(page.locator(":focus")).to_contain_text("struck")

    told = verdicts(home)
    assert told["chin-exposed"] == "amended"
    assert "struck" in told.values()


def test_a_reload_in_mid_correction_loses_nothing(review: str, desk, page: Page, home: Path) -> None:
    page.goto(desk.base + review)
    note = page.locator(".note", has_text="head on centreline")
    note.focus()
    page.keyboard.press("k")
    expect(note).to_contain_text("kept")
    page.keyboard.press("a")
    page.locator("input[name=fault]").fill("chin-exposed")
    page.reload()

    expect(page.locator(".note", has_text="head on centreline")).to_contain_text("kept")
    assert verdicts(home)["head-on-centreline"] == "kept"


def test_two_tabs_see_each_other_s_words(review: str, desk, page: Page, home: Path) -> None:
    other = page.context.new_page()
    for tab in (page, other):
        tab.goto(desk.base + review)
    page.locator(".note", has_text="head on centreline").focus()
    page.keyboard.press("k")
    expect(page.locator(".note", has_text="head on centreline")).to_contain_text("kept")
    note = other.locator(".note", has_text="head on centreline")
    note.focus()
    other.keyboard.press("s")
    expect(note).to_contain_text("struck")
    note.focus()
    other.keyboard.press("u")
    expect(note).to_contain_text("kept")


def test_a_note_on_chosen_words(review: str, desk, page: Page, home: Path) -> None:
    page.goto(desk.base + review)
    page.locator("p.words", has_text="Lovely long teep").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    page.get_by_role("button", name="Add a note").press("Enter")
    page.locator("#chosen-answer input[name=fault]").fill("square-stance")
    page.locator("#chosen-answer").get_by_role("button", name="Add").click()
    expect(page.locator(".note", has_text="square stance")).to_contain_text("amended")

    page.reload()
    note = page.locator("section.moment", has_text="Lovely").locator(".note", has_text="square stance")
    expect(note).to_contain_text("4:20")


def test_a_misheard_word_is_mended_once(review: str, desk, page: Page, home: Path) -> None:
    page.goto(desk.base + review)
    page.locator("p.words", has_text="Lovely long teep").focus()
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Mend a word").click()
    page.locator("input[name=right]").fill("Sloppy")
    page.get_by_role("button", name="Mend", exact=True).click()
    expect(page.locator("#chosen-answer")).to_contain_text("Mended")

    page.reload()
    expect(page.locator("p.words", has_text="Sloppy long teep")).to_be_visible()


def test_the_queue_goes_on_by_itself(review: str, desk, page: Page, home: Path) -> None:
    page.goto(desk.base + "/queue")
    count = page.locator(".note").count()
    for _ in range(count):
        page.keyboard.press("k")
        page.wait_for_timeout(400)

    assert set(verdicts(home).values()) <= {"kept", None}
    page.reload()
    expect(page.locator("main")).to_contain_text("Nothing is waiting")


def test_hostile_words_are_words(tapeside, sheet: Path, tmp_path: Path, home: Path, desk, page: Page) -> None:
    talk = tmp_path / "talk.json"
    text = f"Your head stays on the centre line with the cross, {HOSTILE}."
    segment = {"start": 12, "end": 15, "text": text}
    talk.write_text(json.dumps({"schema": "tapeside-transcript/1", "segments": [segment]}))
    sheet.write_text(sheet.read_text().replace("name: Mara, aliases: [Mo]", "name: '<b onclick=alert(3)>Mara</b>'"))
    assert tapeside("add", talk, "--sheet", sheet).code == 0

    for path in ("/", "/queue", "/athletes", "/search?q=" + "%3Cscript%3Ealert(4)%3C/script%3E"):
        page.goto(desk.base + path)
    page.goto(desk.base + "/")
    page.get_by_role("link", name="<b onclick").click()
    assert HOSTILE.split(maxsplit=1)[0] in page.locator(".words").first.inner_text()
    assert page.locator("main script, main img, main b[onclick]").count() == 0
    page.locator(".note").first.focus()
    page.keyboard.press("w")
    expect(page.locator(".note .more").first).to_contain_text("<img")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_that_axe_finds(review: str, desk, page: Page, scheme: str) -> None:
    """axe-core, WCAG 2.2 A and AA."""
    page.emulate_media(color_scheme=scheme)
    rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    for path in (
        "/",
        review,
        "/queue",
        "/learning",
        "/narrate",
        "/athletes",
        "/athletes/Mara",
        "/search?q=teep",
        "/nowhere",
    ):
        page.goto(desk.base + path)
        found = Axe().run(page, options=rules)
        assert found.violations_count == 0, f"{path}: {found.generate_report()}"


def test_at_double_size_nothing_is_cut_off(review: str, desk, page: Page) -> None:
    """200 % zoom of a 1280-pixel window is a window of 640 pixels (WCAG 2.2, 1.4.4 and 1.4.10)."""
    for width in (640, 320):
        page.set_viewport_size({"width": width, "height": 700})
        for path in ("/", review, "/queue", "/narrate", "/athletes/Mara", "/search?q=teep"):
            page.goto(desk.base + path)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (path, width)
