"""Jobs and their revisions in a database: the only file that opens one (SQLite unless told otherwise).

A job's spec is kept as it was given; a changed spec is a new revision, an unchanged one is none.
"""
from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import ForeignKey, create_engine, event, func, select
from sqlalchemy.engine import Engine
from sqlalchemy.orm import DeclarativeBase, Mapped, Session, mapped_column

from server.errors import NotFound, YardtrueError
from server.model import Plain
from server.places import SEED

SCHEMA_VERSION = "1"
DigestOf = Callable[[str, Plain], str]


class Base(DeclarativeBase):
    pass


class Meta(Base):
    """Facts about the database itself: its schema version, which demo jobs it was given."""

    __tablename__ = "meta"
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]


class JobRow(Base):
    __tablename__ = "jobs"
    id: Mapped[str] = mapped_column(primary_key=True)
    created: Mapped[str]


class RevisionRow(Base):
    __tablename__ = "revisions"
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    spec: Mapped[str]
    digest: Mapped[str]
    created: Mapped[str]


@dataclass(frozen=True)
class Saved:
    """A job as saved: its newest revision."""

    id: str
    number: int
    spec: Plain
    digest: str
    created: str


class Store:
    """The jobs of one database."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    @contextmanager
    def _session(self) -> Iterator[Session]:
        with Session(self.engine) as session, session.begin():
            yield session

    def add_job(self, spec: Plain, digest_of: DigestOf, job_id: str | None = None) -> str:
        """Save a new job and give its id; `digest_of(id, spec)` is the digest of its document."""
        job_id = job_id or new_id(spec.get("name") if isinstance(spec, dict) else None)
        digest = digest_of(job_id, spec)
        with self._session() as session:
            session.add(JobRow(id=job_id, created=now()))
            session.flush()
            session.add(RevisionRow(job_id=job_id, number=1, spec=spec_text(spec), digest=digest, created=now()))
        return job_id

    def save_revision(self, job_id: str, spec: Plain, digest_of: DigestOf) -> int:
        """Append a revision when the spec changed; the newest number either way."""
        digest = digest_of(job_id, spec)
        with self._session() as session:
            newest = _newest(session, job_id)
            if json.loads(newest.spec) == spec:
                return newest.number
            number = newest.number + 1
            session.add(RevisionRow(job_id=job_id, number=number, spec=spec_text(spec), digest=digest, created=now()))
        return number

    def jobs(self) -> list[Saved]:
        """Every job at its newest revision, the oldest job first."""
        newest = select(RevisionRow.job_id, func.max(RevisionRow.number).label("number")).group_by(RevisionRow.job_id)
        wanted = newest.subquery()
        query = (
            select(RevisionRow)
            .join(wanted, (RevisionRow.job_id == wanted.c.job_id) & (RevisionRow.number == wanted.c.number))
            .join(JobRow, JobRow.id == RevisionRow.job_id)
            .order_by(JobRow.created, JobRow.id)
        )
        with self._session() as session:
            return [_saved(row) for row in session.scalars(query)]

    def job(self, job_id: str) -> Saved:
        """One job at its newest revision. Raises NotFound."""
        with self._session() as session:
            return _saved(_newest(session, job_id))

    def revisions(self, job_id: str) -> list[Saved]:
        """Every revision of a job, the newest first."""
        query = select(RevisionRow).where(RevisionRow.job_id == job_id).order_by(RevisionRow.number.desc())
        with self._session() as session:
            return [_saved(row) for row in session.scalars(query)]

    def delete(self, job_id: str) -> None:
        """Take a job and its revisions out. Raises NotFound."""
        with self._session() as session:
            _newest(session, job_id)
            session.delete(session.get_one(JobRow, job_id))

    def seed_demo(self, digest_of: DigestOf) -> list[str]:
        """Add the demo jobs this database was never given; a deleted one stays deleted. Ids of those added."""
        with self._session() as session:
            row = session.get(Meta, "demo")
            given: list[str] = json.loads(row.value) if row else []
        added = []
        for path in sorted(SEED.glob("*.json")):
            if path.stem not in given:
                self.add_job(json.loads(path.read_text(encoding="utf-8")), digest_of, job_id=path.stem)
                added.append(path.stem)
        with self._session() as session:
            session.merge(Meta(key="demo", value=json.dumps(given + added)))
        return added


def open_store(url: str | None = None) -> Store:
    """The store behind a database address, its tables made when missing. Raises YardtrueError for a newer schema."""
    engine = create_engine(url or default_url())
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _sqlite_manners)
    Base.metadata.create_all(engine)
    store = Store(engine)
    _check_version(store)
    return store


def default_url() -> str:
    """A SQLite file in the user's own data folder ($XDG_DATA_HOME or ~/.local/share)."""
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    folder = Path(data) / "yardtrue"
    folder.mkdir(parents=True, exist_ok=True)
    return f"sqlite:///{folder / 'yardtrue.sqlite3'}"


def new_id(name: object) -> str:
    """A short readable id from a job's name, with a random end: fern-bank-deck-3f9a1c."""
    words = re.findall(r"[a-z0-9]+", name.lower()) if isinstance(name, str) else []
    slug = "-".join(words)[:32].strip("-") or "job"
    return f"{slug}-{secrets.token_hex(3)}"


def spec_text(spec: Mapping[str, Any]) -> str:
    return json.dumps(spec, ensure_ascii=False, separators=(",", ":"))


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _newest(session: Session, job_id: str) -> RevisionRow:
    query = select(RevisionRow).where(RevisionRow.job_id == job_id).order_by(RevisionRow.number.desc()).limit(1)
    row = session.scalars(query).first()
    if row is None:
        raise NotFound("no-such-job")
    return row


def _saved(row: RevisionRow) -> Saved:
    return Saved(row.job_id, row.number, json.loads(row.spec), row.digest, row.created)


def _check_version(store: Store) -> None:
    with store._session() as session:
        row = session.get(Meta, "schema")
        if row is None:
            session.add(Meta(key="schema", value=SCHEMA_VERSION))
        elif row.value != SCHEMA_VERSION:
            raise YardtrueError("store-version", slots={"found": row.value, "known": SCHEMA_VERSION})


def _sqlite_manners(connection: Any, _record: Any) -> None:
    """Readers do not wait for a writer, a second writer waits a while, deletes cascade."""
    for pragma in ("journal_mode=WAL", "busy_timeout=5000", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
