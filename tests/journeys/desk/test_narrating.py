"""A coach narrates over footage: a microphone that plays a known narration, a video that is paused, sought and sped up."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from rapidfuzz import fuzz
from sounds import write_wav

from notes.archive.archive import Archive
from notes.narrating import unfinished
from notes.speech.audio import read_stretches
from notes.speech.terms import TradeWords
from notes.speech.transcribe import transcribe

DEMO = Path(__file__).parents[3] / "demo_audio"
SECONDS = 34

# Notes when the microphone opens, and where the footage stands, twenty times a second: the test's own clock.
WATCH = """
window.seen = [];
const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (wanted) => {
  const stream = await open(wanted);
  window.opened = performance.now();
  return stream;
};
setInterval(() => {
  const footage = document.getElementById("footage");
  if (footage?.currentSrc) window.seen.push([performance.now(), footage.currentTime]);
}, 50);
"""


@pytest.fixture(scope="module")
def narration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first half minute of the demo's narration, as the browser wants it."""
    samples = np.concatenate([stretch.samples for stretch in read_stretches(DEMO / "review.opus")])
    return write_wav(tmp_path_factory.mktemp("sound") / "narration.wav", samples[: SECONDS * 16_000])


@pytest.fixture
def booth(chromium: Callable[..., Browser], narration: Path, desk: Any) -> Iterator[Page]:
    """The narrate page, filled in, with a microphone."""
    browser = chromium(narration)
    context = browser.new_context(permissions=["microphone"])
    page = context.new_page()
    page.add_init_script(WATCH)
    page.goto(desk.address)
    page.goto(desk.base + "/narrate")
    page.set_input_files("#choose", DEMO / "sparring.mp4")
    page.fill("textarea[name=athletes]", "Nora, Norah (orthodox)")
    page.fill("input[name=opponent]", "Helen")
    page.select_option("select[name=sport]", "kickboxing")
    page.fill("input[name=length]", "80")
    page.fill("input[name=rest]", "10")
    page.fill("input[name=first_starts_at]", "4")
    page.fill("#delay", "0")
    yield page
    browser.close()


def test_every_word_finds_its_moment(booth: Page, narration: Path, desk: Any, home: Path) -> None:
    """Truth: where the footage stood when the microphone played the word, by the test's own clock."""
    booth.click("#record")
    expect(booth.locator("#record")).to_have_text("Pause")
    footage = "document.getElementById('footage')"
    booth.evaluate(f"{footage}.play()")
    for wait_ms, act in (
        (8_000, f"{footage}.pause()"),
        (3_000, f"{footage}.play()"),
        (5_000, f"{footage}.currentTime = 60"),
        (5_000, f"{footage}.playbackRate = 2"),
    ):
        booth.wait_for_timeout(wait_ms)
        booth.evaluate(act)
    booth.wait_for_timeout(10_000)
    opened, seen = booth.evaluate("window.opened"), np.array(booth.evaluate("window.seen"))
    booth.click("#finish")
    booth.wait_for_url("**/reviews/*", timeout=120_000)

    with Archive(home) as archive:
        (recording,) = archive.recordings()
        notes = [k.observation for k in archive.observations_in(recording.sha256) if k.observation.role == "athlete"]
    spoken = sentence_starts(narration)
    assert len(notes) >= 2
    for note in notes:
        at, _ = max(spoken, key=lambda sentence: fuzz.ratio(sentence[1][:40], note.quote.lower()[:40]))
        truth = np.interp(opened + at * 1000, seen[:, 0], seen[:, 1])
        assert note.footage_ms is not None
        assert note.footage_ms / 1000 == pytest.approx(truth, abs=0.5), note.quote


def test_without_footage_it_is_a_memo(chromium: Callable[..., Browser], narration: Path, desk: Any, home: Path) -> None:
    """No time of any footage is made up for it."""
    browser = chromium(narration)
    page = browser.new_context(permissions=["microphone"]).new_page()
    page.goto(desk.address)
    page.goto(desk.base + "/narrate")
    page.fill("textarea[name=athletes]", "Nora")
    page.select_option("select[name=sport]", "kickboxing")
    page.click("#record")
    page.wait_for_timeout(12_000)
    page.click("#finish")
    page.wait_for_url("**/reviews/*", timeout=120_000)
    browser.close()

    with Archive(home) as archive:
        (recording,) = archive.recordings()
        assert recording.sheet.narration == "memo" and recording.footage is None
        assert {k.observation.footage_ms for k in archive.observations_in(recording.sha256)} <= {None}


def sentence_starts(path: Path) -> list[tuple[float, str]]:
    """Each sentence's start in seconds and words, as the recogniser hears the file itself."""
    heard = transcribe(path, "base", TradeWords(("teep", "jab"), ("Nora", "Helen")), lambda _: None)
    return [(s.start_ms / 1000, s.text.lower()) for s in heard.segments]


def test_the_desk_is_killed_while_the_coach_speaks(booth: Page, desk: Any, home: Path) -> None:
    booth.click("#record")
    expect(booth.locator("#spoken")).to_have_text("0:05 spoken", timeout=30_000)
    desk.kill()
    kept = unfinished(home)[0].seconds
    assert kept >= 4
    booth.wait_for_timeout(3_000)
    expect(booth.locator("#said")).to_contain_text("not yet kept")
    desk.start()
    booth.context.new_page().goto(desk.address)
    expect(booth.locator("#said")).to_have_text("", timeout=30_000)
    booth.wait_for_timeout(2_000)
    (narration,) = unfinished(home)
    at_least = booth.evaluate("document.getElementById('spoken').textContent")
    assert narration.seconds >= float(at_least.split(":")[1].split()[0]) - 1

    narration.save_sound(home / "whole.flac")
    (stretch,) = read_stretches(home / "whole.flac")
    assert len(stretch.samples) / 16_000 == pytest.approx(narration.seconds, abs=0.1)


def test_a_closed_page_goes_on(booth: Page, desk: Any, home: Path) -> None:
    booth.click("#record")
    expect(booth.locator("#spoken")).to_have_text("0:03 spoken", timeout=30_000)
    booth.close(run_before_unload=False)
    (left,) = unfinished(home)
    before = left.seconds
    again = booth.context.new_page()
    again.goto(desk.base + "/narrate")
    again.get_by_role("link", name="Go on").click()
    again.click("#record")
    again.wait_for_timeout(3_000)
    (left,) = unfinished(home)
    assert left.seconds >= before + 1.5
    assert left.next_take() == 3


def test_footage_that_had_not_arrived_is_chosen_again(booth: Page, desk: Any, home: Path) -> None:
    booth.route("**/footage", lambda route: route.abort())
    booth.click("#record")
    expect(booth.locator("#spoken")).to_have_text("0:02 spoken", timeout=30_000)
    booth.close(run_before_unload=False)
    again = booth.context.new_page()
    again.goto(desk.base + "/narrate")
    again.get_by_role("link", name="Go on").click()
    expect(again.locator("#drop")).to_contain_text("choose it again")
    again.set_input_files("#choose", DEMO / "sparring.mp4")
    again.click("#record")
    expect(again.locator("#upload")).to_be_hidden()
    again.wait_for_timeout(2_000)

    (left,) = unfinished(home)
    assert left.footage and left.footage.read_bytes() == (DEMO / "sparring.mp4").read_bytes()


# A room: what the page plays comes back at its microphone after `window.far` seconds. Both ways between the page's sound
# and the room's take a time of their own, the same in every room.
ROOM = """
const room = new AudioContext();
const heard = room.createMediaStreamDestination();
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...how) {
  if (to instanceof AudioDestinationNode) {
    const out = this.context.createMediaStreamDestination();
    connect.call(this, out);
    const way = room.createDelay(2);
    way.delayTime.value = window.far;
    connect.call(connect.call(room.createMediaStreamSource(out.stream), way), heard);
  }
  return connect.call(this, to, ...how);
};
navigator.mediaDevices.getUserMedia = async () => heard.stream;
"""


def test_claps_measure_how_far_the_microphone_is(chromium: Callable[..., Browser], desk: Any) -> None:
    """Truth: by how much one room is longer than the other."""
    browser = chromium()
    page = browser.new_page()
    page.add_init_script(ROOM)
    page.goto(desk.address)
    found = []
    for seconds in (0.1, 0.4, 0.8):
        page.goto(desk.base + "/narrate")
        page.evaluate(f"window.far = {seconds}")
        page.click("#clap")
        expect(page.locator("#clapped")).to_contain_text("claps heard")
        found.append(int(page.input_value("#delay")))
    browser.close()

    near, middle, far = found
    assert middle - near == pytest.approx(300, abs=20)
    assert far - near == pytest.approx(700, abs=20)


def test_no_microphone_is_told(chromium: Callable[..., Browser], desk: Any) -> None:
    browser = chromium()
    page = browser.new_page()
    page.goto(desk.address)
    page.goto(desk.base + "/narrate")
    missing = "async () => { throw new DOMException('', 'NotFoundError') }"
    page.evaluate(f"() => {{ navigator.mediaDevices.getUserMedia = {missing} }}")
    page.click("#clap")
    expect(page.locator("#clapped")).to_have_text("The browser finds no microphone; plug one in.")
    browser.close()
