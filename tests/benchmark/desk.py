"""How a three-hour review opens and scrolls in the browser: `python tests/benchmark/desk.py`.

2,000 paragraphs of corpus sentences, with word times, and their notes. Beside it the same words as a bare page: one
paragraph each, no word, note or style of its own.
"""

import html
import json
import random
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

CORPUS = Path(__file__).parents[1] / "corpus" / "work"
PARAGRAPHS = 2_000
SECONDS = 3 * 3600
SHEET = """\
sport: kickboxing
date: 2031-03-14
athletes: [{name: Mara}]
opponent: {name: Devon}
rounds: {length: 180, rest: 60, first_starts_at: 5}
"""
# Scrolls through the whole page in four seconds; the gaps between frames, in ms.
SCROLL = """
() => new Promise((done) => {
  const gaps = [];
  const whole = document.documentElement.scrollHeight;
  let before = performance.now();
  const begun = before;
  const step = (now) => {
    gaps.push(now - before);
    before = now;
    scrollTo(0, whole * (now - begun) / 4000);
    if (now - begun < 4000) requestAnimationFrame(step);
    else done(gaps.slice(1));
  };
  requestAnimationFrame(step);
})
"""
PAINTED = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN"
LOADED = "() => performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"


def talk() -> dict[str, object]:
    """A transcript of three hours: a sentence or two a paragraph, each word with its time."""
    said = [
        line
        for path in sorted(CORPUS.glob("*.vtt"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if len(line.split()) > 4 and "-->" not in line
    ]
    chance = random.Random(1)
    segments = []
    for number in range(PARAGRAPHS):
        text = chance.choice(said)
        start = number * SECONDS / PARAGRAPHS
        words = [
            {"start": round(start + i * 0.2, 2), "end": round(start + i * 0.2 + 0.18, 2), "word": word}
            for i, word in enumerate(text.split())
        ]
        segments.append({"start": words[0]["start"], "end": words[-1]["end"], "text": text, "words": words})
    return {"schema": "tapeside-transcript/1", "segments": segments}


def measure(page: Page, address: str) -> tuple[float, float, float, float]:
    """ms until the first words are painted and until all is loaded; frames a second; the longest 1 % of gaps in ms."""
    page.goto(address, wait_until="load")
    page.wait_for_timeout(500)
    painted, loaded = page.evaluate(PAINTED), page.evaluate(LOADED)
    gaps = page.evaluate(SCROLL)
    return painted, loaded, 1000 / statistics.mean(gaps), sorted(gaps)[int(len(gaps) * 0.99)]


def main() -> None:
    folder = Path(tempfile.mkdtemp())
    heard = talk()
    (folder / "talk.json").write_text(json.dumps(heard))
    (folder / "sheet.yaml").write_text(SHEET)
    (folder / "bare.html").write_text(
        "<!doctype html><meta charset=utf-8>" + "".join(f"<p>{html.escape(s['text'])}</p>" for s in heard["segments"])
    )
    program = [sys.executable, "-m", "notes.cli", "--home", str(folder / "home")]
    subprocess.run([*program, "add", str(folder / "talk.json"), "--sheet", str(folder / "sheet.yaml")], check=True)
    desk = subprocess.Popen([*program, "desk", "--port", "8643"], stdout=subprocess.PIPE, text=True)
    try:
        assert desk.stdout
        found = re.search(r"http://\S+", desk.stdout.readline())
        assert found
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
            )
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            bare = measure(page, (folder / "bare.html").as_uri())
            page.goto(found[0])
            review = page.get_by_role("link", name="Mara").get_attribute("href")
            ours = measure(page, f"http://127.0.0.1:8643{review}")
            notes = page.locator(".note").count()
    finally:
        desk.kill()
        shutil.rmtree(folder)
    print(f"{PARAGRAPHS} paragraphs, {notes} notes; beside the same words as a bare page")
    for name, unit, mine, plain in zip(
        ("first words", "all loaded", "frames", "1 % of frames take"), ("ms", "ms", "/s", "ms"), ours, bare, strict=True
    ):
        print(f"  {name}: {mine:.0f} {unit} (bare {plain:.0f}); ratio {mine / plain:.2f}")


if __name__ == "__main__":
    main()
