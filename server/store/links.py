"""Crew links: of each only the hash of its token is kept, and a job has at most one that lives."""
from __future__ import annotations

import secrets
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from server.errors import NotFound
from server.store.database import Database, hash_of, hold_job, known, now
from server.store.rows import LinkRow

TOKEN_BYTES = 24


@dataclass(frozen=True)
class Link:
    """A live crew link; its token was shown once and is not known here."""

    id: str
    created: str


class Links(Database):
    """The part of the store that knows who may work on which job."""

    def new_link(self, job_id: str) -> str:
        """The token of a new link, given this once; the job's old one counts no longer. Raises NotFound."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        with self._session() as session:
            hold_job(session, job_id)
            _withdraw(session, job_id)
            link_id = secrets.token_hex(8)
            session.add(LinkRow(id=link_id, job_id=job_id, token_hash=hash_of(token), created=now(), withdrawn=None))
        return token

    def link(self, job_id: str) -> Link | None:
        """The live link of a job."""
        query = select(LinkRow).where(LinkRow.job_id == known(job_id), LinkRow.withdrawn.is_(None))
        with self._session() as session:
            row = session.scalars(query).first()
            return Link(row.id, row.created) if row else None

    def withdraw_link(self, job_id: str) -> None:
        """From now on the job's link opens nothing. Raises NotFound."""
        with self._session() as session:
            hold_job(session, job_id)
            _withdraw(session, job_id)

    def job_of_link(self, token: str) -> tuple[str, str]:
        """Ids of the live link with this token and of its job. Raises NotFound for a wrong or withdrawn one."""
        query = select(LinkRow).where(LinkRow.token_hash == hash_of(token), LinkRow.withdrawn.is_(None))
        with self._session() as session:
            row = session.scalars(query).first()
            if row is None:
                raise NotFound("no-such-link")
            return row.id, row.job_id

    def live_links(self, ids: Collection[str]) -> dict[str, str]:
        """Of these links those that live: {link id: job id}."""
        if not ids:
            return {}
        query = select(LinkRow.id, LinkRow.job_id).where(LinkRow.id.in_(ids), LinkRow.withdrawn.is_(None))
        with self._reading() as connection:
            return {row.id: row.job_id for row in connection.execute(query)}


def _withdraw(session: Session, job_id: str) -> None:
    alive = (LinkRow.job_id == job_id) & LinkRow.withdrawn.is_(None)
    session.execute(update(LinkRow).where(alive).values(withdrawn=now()))
