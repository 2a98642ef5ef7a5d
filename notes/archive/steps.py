"""The migrations that this program knows, by number: `migrations/001_*.sql` is 1."""

import sqlite3
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable


def latest_form() -> int:
    """The number of the last migration: the form of a database that is up to date."""
    return len(steps())


def steps() -> list[Traversable]:
    """The scripts in their order."""
    scripts = (files("notes.archive") / "migrations").iterdir()
    return sorted((script for script in scripts if script.name.endswith(".sql")), key=lambda script: script.name)


def statements(script: str) -> Iterator[str]:
    """The statements of a script one by one; `executescript` would commit the transaction first."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
