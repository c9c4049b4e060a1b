"""Jobs for tests: the demo deck with any part changed, planned into the document a phone carries."""

from __future__ import annotations

import json
from typing import Any

from server import plan
from server.places import SEED

LUMBER = ("species", "edition", "joists", "height", "frost")


def spec(demo: str = "long-side-deck", **changes: Any) -> dict[str, Any]:
    """A demo job file's contents with some keys changed."""
    found: dict[str, Any] = json.loads((SEED / f"{demo}.json").read_text(encoding="utf-8"))
    return found | changes


def bare(demo: str = "long-side-deck", **changes: Any) -> dict[str, Any]:
    """A demo job file that says nothing of its lumber: its frame is not checked."""
    return {key: value for key, value in spec(demo).items() if key not in LUMBER} | changes


def document(demo: str = "long-side-deck", **changes: Any) -> dict[str, Any]:
    """The document of a demo job, as plain JSON data."""
    loaded: dict[str, Any] = json.loads(plan.plan(demo, spec(demo, **changes)).text)
    return loaded


class Memory:
    """A field book that lives in memory."""

    def __init__(self) -> None:
        self.entries: list[dict[str, Any]] = []

    def append(self, entry: dict[str, Any]) -> None:
        self.entries.append(entry)
