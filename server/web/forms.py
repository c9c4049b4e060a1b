"""The job form: flat fields named by their place in a job file, to a spec and back.

A field keeps whatever was typed; only a spec is read. Empty beam rows are no beams. What a job file leaves out of
lumber and loads stands in the form as the usual, and the usual is left out again; that part is in `lumber_form`.
"""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from server.job import SIZES, STRING_FACES, UNITS
from server.job_checks import CHOOSE, MOST_BEAMS
from server.model import WAYS, Job, Plain
from server.web import lumber_form
from server.web.lumber_form import text, whole

Typed = lumber_form.Typed
CLEARED = ("room_left", "room_right", "tolerance")
TOP = ("name", "units", "width", "out", "string_face", "tape", "room_left", "room_right", "tolerance")
NEW_BEAM: Typed = {"plies": "2", "size": "2x10", "posts": "count"}
NEW: Typed = {
    "units": "inch", "attached": "true", "string_face": "centre", "crew": "2", "room_left": "4'", "room_right": "4'",
    "tolerance": "1/4\"", "beams_way": "given", "way": Job.way,
} | lumber_form.USUAL
WRITTEN = ("setback", "posts.count", "posts.cantilever", "posts.at")
ROWS = range(MOST_BEAMS)
CHOICES = {"units": UNITS, "sizes": SIZES, "string_faces": STRING_FACES, "ways": WAYS} | lumber_form.CHOICES


def fresh() -> Typed:
    """An empty form with the usual choices made."""
    return with_rows(NEW)


def with_rows(typed: Typed) -> Typed:
    """The form with every beam row there, unused ones as new."""
    rows = {f"beams.{row}.{key}": value for row in ROWS for key, value in NEW_BEAM.items()}
    return rows | typed


def typed_of(form: Mapping[str, str]) -> Typed:
    """What a form sent, its used beam rows moved together; the first row always counts as used."""
    typed = {key: value.replace("\r\n", "\n") for key, value in form.items() if not key.startswith("beams.")}
    typed = lumber_form.moved_up(typed)
    used = [row for row in ROWS if row_used(form, row)] or [0]
    for to, row in enumerate(used):
        start = f"beams.{row}."
        typed |= {f"beams.{to}.{key[len(start):]}": form[key] for key in form if key.startswith(start)}
    return typed


def row_used(form: Mapping[str, str], row: int) -> bool:
    return any(form.get(f"beams.{row}.{key}", "").strip() for key in WRITTEN)


def spec_of(typed: Typed) -> Plain:
    """The job file a form means; an empty field is an absent key, so that it is named as missing."""
    # A measure that was cleared is a fault; left out, the reader would take its usual value without a word.
    said = (key for key in TOP if typed.get(key, "").strip() or (key in CLEARED and key in typed))
    spec: Plain = {"schema": 1} | {key: typed[key] for key in said}
    if typed.get("crew"):
        spec["crew"] = whole(typed["crew"])
    if typed.get("attached"):
        spec["attached"] = {"true": True, "false": False}.get(typed["attached"], typed["attached"])
    if typed.get("way", "") not in ("", Job.way):
        spec["way"] = typed["way"]
    spec["beams"] = beams_of(typed)
    return spec | lumber_form.spec_of(typed)


def beams_of(typed: Typed) -> list[Plain] | str:
    """The beams that are typed, or the word that has frames found."""
    if typed.get("beams_way") == CHOOSE:
        return CHOOSE
    return [beam_of(typed, row) for row in ROWS if row == 0 or row_used(typed, row)]


def beam_of(typed: Typed, row: int) -> Plain:
    def read(key: str) -> str:
        return typed.get(f"beams.{row}.{key}", "").strip()
    beam: Plain = {"posts": posts_of(read("posts"), read("posts.count"), read("posts.cantilever"), read("posts.at"))}
    if read("setback"):
        beam["setback"] = read("setback")
    if read("plies"):
        beam["plies"] = whole(read("plies"))
    if read("size"):
        beam["size"] = read("size")
    return beam


def posts_of(way: str, count: str, cantilever: str, at: str) -> Plain:
    """Posts the way that was chosen; positions are parted by semicolons or lines."""
    if way == "at":
        return {"at": [one.strip() for one in re.split(r"[;\n]", at) if one.strip()]}
    posts: Plain = {"count": whole(count)} if count else {}
    return posts | ({"cantilever": cantilever} if cantilever else {})


def typed_from(spec: object) -> Typed:
    """The form that shows a job file, whatever is in it."""
    if not isinstance(spec, dict):
        return fresh()
    typed = {"way": Job.way} | {key: text(spec[key]) for key in (*TOP, "crew", "attached", "way") if key in spec}
    beams = spec.get("beams")
    typed |= {"beams_way": CHOOSE if beams == CHOOSE else "given"} | lumber_form.typed_from(spec)
    for row, beam in zip(ROWS, beams if isinstance(beams, list) else [], strict=False):
        if isinstance(beam, dict):
            typed |= {f"beams.{row}.{key}": value for key, value in beam_fields(beam).items()}
    return with_rows(typed)


def beam_fields(beam: Plain) -> Typed:
    fields: Typed = {key: text(beam[key]) for key in ("setback", "plies", "size") if key in beam}
    posts = beam.get("posts")
    if not isinstance(posts, dict):
        return fields
    fields["posts"] = "at" if "at" in posts else "count"
    if isinstance(posts.get("at"), list):
        fields["posts.at"] = "; ".join(text(one) for one in posts["at"])
    return fields | {f"posts.{key}": text(posts[key]) for key in ("count", "cantilever") if key in posts}


def by_field(faults: Iterable[Plain], fields: Iterable[str]) -> dict[str, list[Plain]]:
    """Faults under the field that stands for their place: beams.0.posts.at.2 under beams.0.posts.at; "" for none."""
    known, found = set(fields), dict[str, list[Plain]]()
    for fault in faults:
        place = fault["place"]
        while place and place not in known:
            place = place.rpartition(".")[0]
        found.setdefault(place, []).append(fault)
    return found


def all_fields() -> list[str]:
    """Every field of the form, in the order it shows them."""
    beam = ("setback", "plies", "size", "posts", *WRITTEN[1:])
    rows = [f"beams.{row}.{key}" for row in ROWS for key in beam]
    deck = ["name", "units", "attached", "width", "out", "beams", "beams_way"]
    yard = ["string_face", "tape", "crew", "room_left", "room_right", "tolerance", "way"]
    return [*deck, *rows, *lumber_form.FIELDS, *yard]
