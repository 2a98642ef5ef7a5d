"""How a three-hour review opens and scrolls in the browser: `python tests/benchmark/desk.py`.

2,000 paragraphs of corpus sentences, with word times, and their notes. Beside it the same words as a bare page: one
paragraph each, no word, note or style of its own. Medians of five openings from the list of reviews, the best behind them.
Frames a second depend on what else the machine does; the processor time that a frame takes in the page's main thread does
so less. A frame of 60 a second has 16.7 ms.
"""

import html
import json
import os
import random
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, sync_playwright

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
# Notes when the first paragraph has been painted: it is there at one frame, and a second frame begins.
WATCH = """
const look = () => {
  if (document.querySelector("p.words, body > p")) requestAnimationFrame(() => (window.firstWords = performance.now()));
  else requestAnimationFrame(look);
};
requestAnimationFrame(look);
"""
OPENED = """
() => {
  const told = performance.getEntriesByType("navigation")[0];
  return [told.responseStart, window.firstWords, told.domContentLoadedEventEnd];
}
"""
NAMES = ("first byte, ms", "first words, ms", "all loaded, ms", "frames a second", "main thread a frame, ms")
RUNS = 5


def talk() -> dict[str, Any]:
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


def measure(window: BrowserContext, address: str) -> list[float]:
    """One opening in a new tab and one run through the page, as in `NAMES`."""
    page = window.new_page()
    page.add_init_script(WATCH)
    page.goto(address, wait_until="load")
    page.wait_for_timeout(500)
    opened = page.evaluate(OPENED)
    assert window.browser
    window.browser.start_tracing(page=page, categories=["toplevel", "-*"])
    gaps = page.evaluate(SCROLL)
    spent = main_thread_ms(json.loads(window.browser.stop_tracing())["traceEvents"])
    page.close()
    return [*opened, 1000 / statistics.mean(gaps), spent / len(gaps)]


def main_thread_ms(events: list[dict[str, Any]]) -> float:
    """Processor time of the page's main thread in a trace of Chromium."""
    main = {(e["pid"], e["tid"]) for e in events if e["name"] == "thread_name" and "RendererMain" in e["args"]["name"]}
    tasks = (e for e in events if e["ph"] == "X" and e["name"].endswith("::RunTask"))
    return float(sum(e.get("tdur", 0) for e in tasks if (e["pid"], e["tid"]) in main)) / 1000


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
            window = browser.new_context(viewport={"width": 1280, "height": 900})
            page = window.new_page()
            page.goto(found[0])
            review = page.get_by_role("link", name="Mara").get_attribute("href")
            addresses = (f"http://127.0.0.1:8643{review}", (folder / "bare.html").as_uri())
            runs = [[measure(window, address) for address in addresses] for _ in range(RUNS)]
    finally:
        desk.kill()
        shutil.rmtree(folder)
    print(
        f"{PARAGRAPHS} paragraphs; {os.cpu_count()} cores, on average {os.getloadavg()[0]:.1f} processes ran at a time"
    )
    for name, ours, bare in zip(NAMES, *(zip(*part, strict=True) for part in zip(*runs, strict=True)), strict=True):
        best = max if name.startswith("frames") else min
        mine, plain = statistics.median(ours), statistics.median(bare)
        told = f"{mine:.1f} (best {best(ours):.1f}); bare page {plain:.1f}; ratio {mine / max(plain, 0.1):.2f}"
        print(f"  {name}: {told}")


if __name__ == "__main__":
    main()
