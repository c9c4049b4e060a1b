"""A yard walked by a virtual crew, for tests of the desk that sees it."""
from __future__ import annotations

from typing import Any

from server.web import bundles
from tests.demo import Memory
from tests.virtual_crew import Crew, walk_with

WALKED: dict[Any, list[dict[str, Any]]] = {}
DECK, PLATFORM = "long-side-deck", "pear-tree-platform"


def walked(app: Any, job_id: str = DECK, crew: Crew | None = None, after: tuple[str, ...] = ()) -> list[dict[str, Any]]:
    """The entries of a crew that walked a job of this app to its end; nothing is sent."""
    with app.app_context():
        document = bundles.newest(job_id)[1].document
    key = (document["digest"], after)
    if crew is not None or key not in WALKED:
        memory = Memory()
        walk_with(document, crew or Crew(3), memory, after=after)
        if crew is not None:
            return memory.entries
        WALKED[key] = memory.entries
    return [dict(entry) for entry in WALKED[key]]


def send(app: Any, entries: list[dict[str, Any]], job_id: str = DECK) -> None:
    with app.app_context():
        taken = bundles.store().add_entries(job_id, entries)
    assert taken.clashing == ()


def slipping(at: int = 6, by: float = 12.0) -> Crew:
    """A crew whose reading of this number, counted from 0, is a slip."""
    slips = iter([0.0] * at + [by])
    return Crew(5, lambda reading: reading + next(slips, 0.0))


def second_phone(entries: list[dict[str, Any]], since: int = 40) -> list[dict[str, Any]]:
    """The same entries, those from one on made on a second phone, which had all of the first one's in its book."""
    first = [entry | {"device": "phone-a", "seen": {}} for entry in entries[:since]]
    return first + [entry | {"device": "phone-b", "seen": {"phone-a": since}} for entry in entries[since:]]


def strike(entry: dict[str, Any], n: int) -> dict[str, Any]:
    """An entry that takes another back."""
    part = {key: entry[key] for key in ("device", "at", "revision", "job", "step", "act")}
    return part | {"id": f"strike-{entry['id']}", "n": n, "kind": "strike", "strikes": entry["id"]}
