"""Field book entries of a job: taken once each, given back in the order of the book or of arrival."""
from __future__ import annotations

import json
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from server.model import Plain
from server.store.database import Database, find_job, hold_job, known
from server.store.rows import EntryRow, JobRow

MOST_BYTES = 1024 * 1024  # of entries in one answer; a single larger one still comes, alone
AS_KEPT = json.JSONEncoder(sort_keys=True, separators=(",", ":")).encode
INSERT = insert(EntryRow.__table__)  # type: ignore[arg-type]  # rows as they are: the ORM's insert costs as much again
AT_ONCE = 500  # ids in one question: every database takes as many values


@dataclass(frozen=True)
class Taken:
    """What became of entries: ids durably held with just this content, ids held with another one."""

    kept: tuple[str, ...]
    clashing: tuple[str, ...]


class Entries(Database):
    """The part of the store that holds field books. Entries are JSON with text `id`, `device` and whole `n`."""

    def add_entries(self, job_id: str, entries: Sequence[Plain], texts: Mapping[str, str] | None = None) -> Taken:
        """Hold each entry once, for good; without entries nobody is kept waiting. Raises NotFound.

        `texts` are entries as kept (`entry_text`) by id, where they are made already; of an id given twice, the first.
        """
        with self._session() as session:
            (hold_job if entries else find_job)(session, job_id)
            held = _held(session, job_id, [entry["id"] for entry in entries])
            fresh: list[Plain] = []
            for entry in entries:
                if held.setdefault(entry["id"], entry) is entry:
                    fresh.append(entry)
            _append(session, job_id, fresh, texts or {})
        clashing = {entry["id"]: None for entry in entries if held[entry["id"]] != entry}
        return Taken(tuple(dict.fromkeys(one["id"] for one in entries if one["id"] not in clashing)), tuple(clashing))

    def entries(self, job_id: str) -> list[Plain]:
        """Every entry of a job in the order of the book: n, device, id."""
        with self._reading() as connection:
            found = connection.scalars(select(EntryRow.body).where(EntryRow.job_id == known(job_id)))
            return sorted((json.loads(body) for body in found), key=order)

    def entries_since(self, job_id: str, cursor: int, limit: int) -> tuple[list[Plain], int, bool]:
        """Entries in order of arrival after `cursor`, the cursor to go on from, and whether there are more."""
        texts, last, more = self.texts_since(job_id, cursor, limit)
        return [json.loads(one) for one in texts], last, more

    def texts_since(
        self, job_id: str, cursor: int, limit: int, but: Container[str] = (),
    ) -> tuple[list[str], int, bool]:
        """What `entries_since` gives, each as the JSON text it is kept as, without those whose ids are in `but`.

        Arrivals are numbered under a lock held until they are seen by all, so none is ever passed over. A cursor beyond
        the last arrival (the database was put back from a backup) is taken back to it.
        """
        query = (
            select(EntryRow.arrival, EntryRow.id, EntryRow.body)
            .where(EntryRow.job_id == known(job_id), EntryRow.arrival > cursor)
            .order_by(EntryRow.arrival)
            .limit(limit + 1)
        )
        with self._session() as session:
            rows = session.execute(query).all()
            arrived = session.scalars(select(JobRow.arrived).where(JobRow.id == job_id)).first() or 0
        bodies = ["" if name in but else body for _, name, body in rows]
        fit = _fitting(bodies[:limit])
        last = rows[fit - 1].arrival if fit else min(cursor, arrived)
        return [body for body in bodies[:fit] if body], last, fit < len(rows)


def order(entry: Plain) -> tuple[int, str, str]:
    return entry["n"], entry["device"], entry["id"]


def entry_text(entry: Plain) -> str:
    """An entry as kept: ASCII, so that it is the same text in every database."""
    return AS_KEPT(entry)


def _held(session: Session, job_id: str, ids: Sequence[str]) -> dict[str, Any]:
    """Contents by id of those that are there already."""
    found: dict[str, Any] = {}
    for start in range(0, len(ids), AT_ONCE):
        some = ids[start : start + AT_ONCE]
        query = select(EntryRow.id, EntryRow.body).where(EntryRow.job_id == job_id, EntryRow.id.in_(some))
        found |= {row.id: json.loads(row.body) for row in session.execute(query)}
    return found


def _append(session: Session, job_id: str, fresh: Iterable[Plain], texts: Mapping[str, str]) -> None:
    """Number entries on from the last that arrived. The job is held."""
    arrived = session.scalars(select(JobRow.arrived).where(JobRow.id == job_id)).one()
    rows = [
        {"job_id": job_id, "id": entry["id"], "arrival": number, "body": texts.get(entry["id"]) or entry_text(entry)}
        for number, entry in enumerate(fresh, arrived + 1)
    ]
    if rows:
        session.execute(insert(EntryRow.__table__), rows)  # type: ignore[arg-type]
        session.execute(update(JobRow).where(JobRow.id == job_id).values(arrived=rows[-1]["arrival"]))


def _fitting(bodies: Sequence[str]) -> int:
    """How many of these go into one answer: at least one."""
    size = 0
    for count, body in enumerate(bodies):
        size += len(body)
        if size > MOST_BYTES and count:
            return count
    return len(bodies)
