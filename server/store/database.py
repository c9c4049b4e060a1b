"""What every part of the store stands on: transactions, and locks that hold between processes too."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from hashlib import sha256

from sqlalchemy import update
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.orm import Session

from server.errors import NotFound, StoreBusy
from server.store.rows import JobRow, Meta


class Database:
    """One database, opened; the parts of the store add what is kept in it."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    @contextmanager
    def _session(self) -> Iterator[Session]:
        """One transaction: all of it, or nothing. Raises StoreBusy while the database cannot be reached or written."""
        with told_if_busy(), Session(self.engine) as session, session.begin():
            yield session

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        """A connection only to read by, a third of a session's cost. Raises StoreBusy."""
        with told_if_busy(), self.engine.connect() as connection:
            yield connection


@contextmanager
def told_if_busy() -> Iterator[None]:
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        raise StoreBusy("store-busy", slots={"why": str(error.orig).splitlines()[0][:120]}) from error


def hold_job(session: Session, job_id: str) -> None:
    """Keep every other writer of this job waiting until the transaction ends. Raises NotFound.

    A write, and the first of its transaction: SQLite then waits for its turn, PostgreSQL locks the row.
    """
    held = session.execute(update(JobRow).where(JobRow.id == known(job_id)).values(arrived=JobRow.arrived))
    if not getattr(held, "rowcount", 0):
        raise NotFound("no-such-job")


def find_job(session: Session, job_id: str) -> None:
    """Raises NotFound where there is no such job."""
    if session.get(JobRow, known(job_id)) is None:
        raise NotFound("no-such-job")


def hold_all(session: Session) -> None:
    """Keep every other writer of facts about the database waiting until the transaction ends."""
    session.execute(update(Meta).where(Meta.key == "schema").values(value=Meta.value))


def fact(session: Session, key: str) -> str | None:
    row = session.get(Meta, key)
    return row.value if row else None


def known(job_id: str) -> str:
    """A job's id as given, fit to be asked for: no null byte, no half character. Raises NotFound."""
    if not job_id.isprintable():
        raise NotFound("no-such-job")
    return job_id


def hash_of(text: str) -> str:
    """SHA-256 of a text of at least 128 random bits: nothing slower is needed."""
    return sha256(text.encode("utf-8", "replace")).hexdigest()


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
