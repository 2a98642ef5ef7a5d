"""The desk in a real browser: the program as a process of its own, Chromium with a microphone that plays a file."""

import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")
# A laden machine answers late; a wrong answer stays wrong.
expect.set_options(timeout=20_000)
WITHOUT = "no Chromium is installed, so the desk is not tried in a browser (Debian: apt-get install chromium)"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """CI sets TAPESIDE_BROWSER=required: there a missing browser fails instead of leaving tests out."""
    if CHROMIUM or os.environ.get("TAPESIDE_BROWSER") == "required":
        return
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.skip(reason=WITHOUT))


class Running:
    """A desk that runs. `address` opens it; it can be killed and started again on its port."""

    def __init__(self, home: Path):
        self.home = home
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.start()

    def start(self) -> None:
        words = [sys.executable, "-m", "notes.cli", "--home", str(self.home), "desk", "--port", str(self.port)]
        environment = os.environ | {"PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment)
        assert self.process.stdout
        told = self.process.stdout.readline()
        found = re.search(r"http://\S+", told)
        assert found, told
        self.address = found[0]

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()


@pytest.fixture
def desk(home: Path) -> Iterator[Running]:
    running = Running(home)
    yield running
    running.kill()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Callable[..., Browser]]:
    """Chromium, with a file as its microphone where one is given."""
    with sync_playwright() as playwright:

        def launch(microphone: Path | None = None) -> Browser:
            flags = ["--no-sandbox", "--disable-gpu", "--autoplay-policy=no-user-gesture-required"]
            flags += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
            if microphone:
                flags += ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
                flags += [f"--use-file-for-fake-audio-capture={microphone}%noloop"]
            return playwright.chromium.launch(executable_path=CHROMIUM, args=flags)

        yield launch


@pytest.fixture(scope="session")
def silent(chromium: Callable[..., Browser]) -> Iterator[Browser]:
    """One browser without a microphone, for all pages that need none."""
    browser = chromium()
    yield browser
    browser.close()


@pytest.fixture
def page(silent: Browser, desk: Running) -> Iterator[Page]:
    """A page of the opened desk. Any request to another place, and any error in a script, fails the test."""
    context = silent.new_context(viewport={"width": 1280, "height": 900})
    tab = context.new_page()
    strange: list[str] = []
    tab.on("request", lambda r: strange.append(r.url) if not r.url.startswith((desk.base, "blob:", "data:")) else None)
    tab.on("pageerror", lambda error: strange.append(str(error)))
    tab.on("dialog", lambda dialog: (strange.append(dialog.message), dialog.dismiss()))
    tab.goto(desk.address)
    yield tab
    context.close()
    assert not strange
