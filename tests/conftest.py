"""Fixtures shared by all tests: a home of its own, no network, one vocabulary."""

import socket
from pathlib import Path

import pytest

import lexicon
from notes.reading.second.reader import SecondReader, second_reader


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """The product works offline: any attempt to reach another machine fails the test."""
    real = socket.socket.connect

    def connect(self: socket.socket, address: object) -> None:
        host = address[0] if isinstance(address, tuple) else ""
        if self.family != socket.AF_UNIX and host not in ("127.0.0.1", "::1", "localhost"):
            raise AssertionError(f"network touched: {address}")
        real(self, address)  # type: ignore[arg-type]

    monkeypatch.setattr(socket.socket, "connect", connect)


@pytest.fixture(scope="session")
def vocabulary() -> lexicon.Lexicon:
    return lexicon.load()


@pytest.fixture(scope="session")
def second(vocabulary: lexicon.Lexicon) -> SecondReader:
    reader = second_reader(vocabulary)
    assert reader, "the weights are part of the repository"
    return reader


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"
