"""The part of the job form about lumber, loads and the heavier patch: flat fields to a spec and back.

One patch has a row; the rest of them travel in a hidden field as the job file's own text, and are kept.
"""
from __future__ import annotations

import json
import re
from typing import Any

from server import job
from server.model import Job, Plain

Typed = dict[str, str]
TEXTS = ("species", "edition", "post", "footing", "fastener")
WHOLES = ("live", "soil")
LENGTHS = ("frost", "height")  # left empty: not said
JOISTS = ("size", "spacing")
PATCH = ("name", "x", "y", "width", "out", "load")
MORE = "patches.more"
ROW = tuple(f"patches.0.{key}" for key in PATCH)
FIELDS = (
    "species", "edition", "joists.size", "joists.spacing", *WHOLES, *LENGTHS, "post", "footing", "fastener",
    "patches", *ROW,
)
CHOICES: dict[str, tuple[str, ...]] = {
    "species": job.SPECIES, "editions": job.EDITIONS, "spacings": tuple(map(str, job.SPACINGS)), "posts": job.POSTS,
    "footings": job.FOOTINGS, "fasteners": job.FASTENERS,
}
USUAL: Typed = {key: str(getattr(Job, key)) for key in (*TEXTS, *WHOLES)}


def whole(text: str) -> int | str:
    """A whole number where the text is one; else the text, which the job's reader will name."""
    text = text.strip()
    return int(text) if re.fullmatch(r"[0-9]{1,9}", text) else text


def text(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else str(value)


def spec_of(typed: Typed) -> Plain:
    """What is said of lumber and loads: neither the usual nor what was left empty.

    A live load or soil that was cleared is a fault; left out, the reader would take its usual value without a word.
    """
    spec: Plain = {key: typed[key] for key in TEXTS if typed.get(key, "") not in ("", USUAL[key])}
    spec |= {key: whole(typed[key]) for key in WHOLES if typed.get(key, USUAL[key]).strip() != USUAL[key]}
    spec |= {key: typed[key] for key in LENGTHS if typed.get(key, "").strip()}
    joists = {key: typed[f"joists.{key}"] for key in JOISTS if typed.get(f"joists.{key}")}
    if joists:
        spec["joists"] = numbered(joists, "spacing")
    patches = ([patch_of(typed)] if row_used(typed) else []) + more_of(typed)
    return spec | ({"patches": patches} if patches else {})


def numbered(part: Typed, key: str) -> Plain:
    """A part of a spec with one of its texts read as a whole number."""
    return part | ({key: whole(part[key])} if key in part else {})


def row_used(typed: Typed) -> bool:
    return any(typed.get(field, "").strip() for field in ROW)


def patch_of(typed: Typed) -> Plain:
    said = {key: typed[f"patches.0.{key}"] for key in PATCH if typed.get(f"patches.0.{key}", "").strip()}
    return numbered(said, "load")


def more_of(typed: Typed) -> list[Any]:
    """The patches beyond the one with a row; a text that is no list is handed on, and the job's reader names it."""
    kept = typed.get(MORE, "")
    try:
        more = json.loads(kept) if kept else []
    except (ValueError, RecursionError):
        return [kept]
    return more if isinstance(more, list) else [kept]


def typed_from(spec: Plain) -> Typed:
    """The fields that show a job file's lumber and loads, whatever is in it; the usual where it says nothing."""
    typed = USUAL | {key: text(spec[key]) for key in (*TEXTS, *WHOLES, *LENGTHS) if key in spec}
    joists, patches = spec.get("joists"), spec.get("patches")
    if isinstance(joists, dict):
        typed |= {f"joists.{key}": text(joists[key]) for key in JOISTS if key in joists}
    return typed | (patch_fields(patches) if isinstance(patches, list) else {})


def patch_fields(patches: list[Any]) -> Typed:
    """The first patch in its row, the others as they are; what is no patch has no row, and is kept with them."""
    said = patches[0] if patches and isinstance(patches[0], dict) else None
    more = patches if said is None else patches[1:]
    fields = {f"patches.0.{key}": text(said[key]) for key in PATCH if key in said} if said else {}
    return fields | ({MORE: json.dumps(more)} if more else {})


def moved_up(typed: Typed) -> Typed:
    """The form with a kept patch in the row, when the row was emptied."""
    more = more_of(typed)
    if row_used(typed) or not more:
        return typed
    rest = {key: value for key, value in typed.items() if key not in (*ROW, MORE)}
    return rest | patch_fields(more)
