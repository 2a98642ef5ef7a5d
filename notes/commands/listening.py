"""The progress of hearing: one bar on stderr, with the time left for everything that is still to be heard."""

import sys
from types import TracebackType
from typing import Any

import click


class Listening:
    """Use as a context manager. Lengths are ms of sound; silent but for names where stderr is no terminal."""

    def __init__(self, length_ms: int):
        self._length = length_ms
        self._bar: Any = None
        self._before = 0

    def __enter__(self) -> "Listening":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        if self._bar:
            self._bar.__exit__(kind, error, tb)

    def start(self, name: str, length_ms: int) -> None:
        """The next recording, of so many ms of the whole length; what the last one did not use up is behind us."""
        if not length_ms:
            return
        label = f"Listening to {name}"
        if self._bar is None:
            self._bar = click.progressbar(length=self._length, label=label, show_eta=True, file=sys.stderr)
            self._bar.__enter__()
        self._bar.label = label
        self.heard(self._before - self._bar.pos)
        self._bar.render_progress()
        self._before += length_ms

    def heard(self, ms: int) -> None:
        """So many ms more are done."""
        if self._bar:
            self._bar.update(ms)

    def tell(self, line: str, *, err: bool = False) -> None:
        """Print a line where the bar stands; the bar comes again below it."""
        if self._bar and sys.stderr.isatty():
            click.echo("\r\033[K", nl=False, err=True)
        click.echo(line, err=err)
