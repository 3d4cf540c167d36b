"""The database's shape: numbered SQL steps, each in one transaction with the record that it was taken."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from auditor.history import functions

APPLICATION = 0x61756469
"""``PRAGMA application_id``, set by the first step: a database of something else is none of ours."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change of the database's shape."""

    number: int
    sql: str


@cache
def steps() -> tuple[Step, ...]:
    """Return the steps that ship with the package, ``0001_….sql`` first."""
    folder = files("auditor.history").joinpath("steps")
    found = [
        Step(int(file.name.partition("_")[0]), file.read_text(encoding="utf-8"))
        for file in folder.iterdir()
        if file.name.endswith(".sql")
    ]
    return tuple(sorted(found, key=lambda step: step.number))


def version(connection: sqlite3.Connection) -> int:
    """Return the number of the last step that a database has taken."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection, todo: Sequence[Step]) -> None:
    """Take the steps that a database has not taken yet."""
    functions.make_known(connection)
    for step in todo:
        if version(connection) >= step.number:
            continue
        with transaction(connection):
            if version(connection) >= step.number:  # another process was quicker
                continue
            for statement in _statements(step.sql):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {step.number:d}")


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Do all of it or nothing; nobody else writes meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        _roll_back(connection)
        raise
    connection.execute("COMMIT")


@contextmanager
def one_moment(connection: sqlite3.Connection) -> Iterator[None]:
    """See the same state in several questions, whatever is added meanwhile."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        _roll_back(connection)


def _roll_back(connection: sqlite3.Connection) -> None:
    if connection.in_transaction:  # some errors have rolled back already
        connection.execute("ROLLBACK")


def _statements(sql: str) -> Iterator[str]:
    text = ""
    for line in sql.splitlines(keepends=True):
        text += line
        if sqlite3.complete_statement(text):
            yield text
            text = ""
