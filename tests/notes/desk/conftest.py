"""A desk without a browser: requests straight to the application."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from notes.desk.app import make_app
from notes.desk.security import Keys

PORT = 8537


@pytest.fixture
def keys() -> Keys:
    return Keys()


@pytest.fixture
def stranger(home: Path, keys: Keys) -> Iterator[TestClient]:
    """Somebody who has not opened the printed address."""
    with TestClient(make_app(home, keys, PORT), base_url=f"http://127.0.0.1:{PORT}", follow_redirects=False) as client:
        yield client


@pytest.fixture
def coach(stranger: TestClient, keys: Keys) -> TestClient:
    """The browser that has opened it."""
    assert stranger.get(f"/?key={keys.entry}").status_code == 303
    return stranger
