"""Jobs and their revisions: a spec is kept as given; a changed one is a new revision, an unchanged one is none."""
from __future__ import annotations

import json
import re
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from server.errors import NotFound
from server.model import Plain
from server.places import SEED
from server.store.database import Database, fact, hold_all, hold_job, known, now
from server.store.rows import JobRow, Meta, RevisionRow

DigestOf = Callable[[str, Plain], str]
EDITIONS = "editions "  # before a job's id: the fact that names the digests its documents had
DEMO = "demo"  # the fact that names the demo jobs this database was given


@dataclass(frozen=True)
class Saved:
    """A job as saved: its newest revision."""

    id: str
    number: int
    spec: Plain
    digest: str
    created: str


class Jobs(Database):
    """The part of the store that holds jobs."""

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
            hold_job(session, job_id)
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
        query = select(RevisionRow).where(RevisionRow.job_id == known(job_id)).order_by(RevisionRow.number.desc())
        with self._session() as session:
            return [_saved(row) for row in session.scalars(query)]

    def editions(self, job_id: str) -> list[tuple[int, str]]:
        """(number, digest) of documents that later versions of Yardtrue made of a revision, the oldest first."""
        with self._session() as session:
            return [(number, digest) for number, digest in json.loads(fact(session, EDITIONS + job_id) or "[]")]

    def note_edition(self, job_id: str, number: int, digest: str) -> None:
        """Keep the digest that this version of Yardtrue gives a revision's document. Raises NotFound."""
        with self._session() as session:
            hold_job(session, job_id)
            noted = json.loads(fact(session, EDITIONS + job_id) or "[]")
            if [number, digest] not in noted:
                session.merge(Meta(key=EDITIONS + job_id, value=json.dumps([*noted, [number, digest]])))

    def delete(self, job_id: str) -> None:
        """Take a job, all that was made of it, its field book and its links out. Raises NotFound."""
        with self._session() as session:
            hold_job(session, job_id)
            session.delete(session.get_one(JobRow, job_id))
            noted = session.get(Meta, EDITIONS + job_id)
            if noted:
                session.delete(noted)

    def seed_demo(self, digest_of: DigestOf) -> list[str]:
        """Add the demo jobs this database was never given; a deleted one stays deleted. Ids of those added."""
        with self._session() as session:
            given: list[str] = json.loads(fact(session, DEMO) or "[]")
        fresh = [path for path in sorted(SEED.glob("*.json")) if path.stem not in given]
        added = [path.stem for path in fresh if self._add_demo(path, digest_of)]
        with self._session() as session:
            hold_all(session)
            given = json.loads(fact(session, DEMO) or "[]")
            session.merge(Meta(key=DEMO, value=json.dumps(sorted({*given, *added}))))
        return added

    def _add_demo(self, path: Path, digest_of: DigestOf) -> bool:
        """False when another process was just as quick."""
        try:
            self.add_job(json.loads(path.read_text(encoding="utf-8")), digest_of, job_id=path.stem)
        except IntegrityError:
            return False
        return True


def new_id(name: object) -> str:
    """A short readable id from a job's name, with a random end: fern-bank-deck-3f9a1c."""
    words = re.findall(r"[a-z0-9]+", name.lower()) if isinstance(name, str) else []
    slug = "-".join(words)[:32].strip("-") or "job"
    return f"{slug}-{secrets.token_hex(3)}"


def spec_text(spec: Mapping[str, Any]) -> str:
    """A spec as kept: ASCII, so that half a character in a name is the same text in every database."""
    return json.dumps(spec, separators=(",", ":"))


def _newest(session: Session, job_id: str) -> RevisionRow:
    query = select(RevisionRow).where(RevisionRow.job_id == known(job_id)).order_by(RevisionRow.number.desc())
    row = session.scalars(query.limit(1)).first()
    if row is None:
        raise NotFound("no-such-job")
    return row


def _saved(row: RevisionRow) -> Saved:
    return Saved(row.job_id, row.number, json.loads(row.spec), row.digest, row.created)
