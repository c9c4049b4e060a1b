"""A job file, read whole: every fault at once, each with its place; and the same job written back as a file.

Lengths in a file are tape text ("11' 6\\"", "3180 mm"); inside, they are inches.
"""
from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

from marshmallow import ValidationError, fields
from marshmallow.experimental.context import Context

from server import job_checks
from server.codes import tables
from server.errors import Fault, JobFaults
from server.field import tape
from server.job_checks import CHOOSE
from server.job_fields import (
    FOOT,
    MISSING,
    NOT_LIST,
    Beams,
    Length,
    Rows,
    Strict,
    Truth,
    Wrong,
    between,
    one_of,
    readable_name,
    text,
    whole,
)
from server.job_fields import choices_text as choices_text
from server.job_fields import shown as shown
from server.model import WAYS, BeamOrder, Job, Patch, Plain

UNITS = ("inch", "millimetre")
EDITIONS, SPECIES, SIZES, SPACINGS = tables.EDITIONS, tables.SPECIES, tables.SIZES, tables.SPACINGS
POSTS, FASTENERS = tables.POSTS, tables.FASTENERS
FOOTINGS = ("round", "square")
STRING_FACES = ("centre", "house-face", "yard-face")
SCHEMA_NUMBER = 1
MOST_POSTS = 24
AS_IS = ("species", "edition", "live", "soil", "post", "footing", "fastener")
LIVE = (40, 200)  # pounds a square foot, like SOIL and PATCH_LOAD
SOIL = (500, 10_000)
PATCH_LOAD = (40, 500)


class PostsSchema(Strict):
    """Posts by position from the left edge, or by count and end cantilever."""

    at = fields.List(Length(most=100 * FOOT), error_messages=NOT_LIST)
    count = whole(between(2, MOST_POSTS, "post-count"), required=False)
    cantilever = Length(most=50 * FOOT)


class BeamSchema(Strict):
    """One beam: house wall to its centre line, its plies and size, its posts."""

    setback = Length(required=True)
    plies = whole(between(1, 3))
    size = text(one_of(*SIZES), required=True)
    posts = fields.Nested(PostsSchema, required=True, error_messages=MISSING)


class JoistsSchema(Strict):
    """The joists: nominal size, and inches from centre to centre."""

    size = text(one_of(*SIZES), required=True)
    spacing = whole(one_of(*SPACINGS))


class PatchSchema(Strict):
    """A part of the deck that carries more: its left and near edges, how far it runs along the wall and out."""

    name = text(readable_name, required=True)
    x = Length(required=True)
    y = Length(required=True)
    width = Length(least=1.0, required=True)
    out = Length(least=1.0, required=True)
    # A field called load would hide the schema's own way of loading.
    psf = whole(between(*PATCH_LOAD), data_key="load", attribute="load")


class JobSchema(Strict):
    """The whole job file."""

    schema = whole(between(SCHEMA_NUMBER, SCHEMA_NUMBER, "schema-number"))
    name = text(readable_name, required=True)
    units = text(one_of(*UNITS), required=True)
    width = Length(least=4 * FOOT, required=True)
    out = Length(least=4 * FOOT, required=True)
    attached = Truth(required=True, error_messages=MISSING)
    beams = Beams(fields.Nested(BeamSchema, error_messages=MISSING), required=True, error_messages=NOT_LIST)
    string_face = text(one_of(*STRING_FACES), load_default="centre")
    tape = Length(least=10 * FOOT, most=330 * FOOT, short="tape-short", required=True)
    crew = whole(between(1, 2))
    room_left = Length(least=2 * FOOT, short="room-short", load_default=4 * FOOT)
    room_right = Length(least=2 * FOOT, short="room-short", load_default=4 * FOOT)
    tolerance = Length(least=1 / 16, most=2.0, load_default=0.25)
    way = text(one_of(*WAYS), load_default=Job.way)
    species = text(one_of(*SPECIES), load_default=Job.species)
    edition = text(one_of(*EDITIONS), load_default=Job.edition)
    joists = fields.Nested(JoistsSchema, error_messages=MISSING)
    live = whole(between(*LIVE), load_default=Job.live)
    soil = whole(between(*SOIL), load_default=Job.soil)
    frost = Length(most=12 * FOOT, load_default=Job.frost)
    height = Length(least=1.0, most=20 * FOOT, load_default=Job.height)
    post = text(one_of(*POSTS), load_default=Job.post)
    footing = text(one_of(*FOOTINGS), load_default=Job.footing)
    fastener = text(one_of(*FASTENERS), load_default=Job.fastener)
    patches = Rows(fields.Nested(PatchSchema, error_messages=MISSING), error_messages=NOT_LIST)


def read(spec: object) -> Job:
    """A job from a parsed job file. Raises JobFaults with every fault."""
    units = units_of(spec)
    with Context(units):
        try:
            data, faults = JobSchema().load(spec), []  # type: ignore[arg-type]
        except ValidationError as error:
            data = error.valid_data if isinstance(error.valid_data, dict) else {}
            faults = list(flatten(error.messages))
    faults.extend(job_checks.check(data, {fault.place for fault in faults}))
    faults.sort(key=lambda fault: fault.place if fault.code == "unknown-key" else "")
    if faults:
        raise JobFaults(faults)
    return build(data)


def units_of(spec: object) -> str:
    """The units a job file names, "inch" when it names none; never raises."""
    named = spec.get("units") if isinstance(spec, dict) else None
    return named if named in UNITS else "inch"


def flatten(messages: Any, place: tuple[str, ...] = ()) -> Iterator[Fault]:
    """marshmallow's tree of messages as faults with dotted places, in the order found."""
    if isinstance(messages, dict):
        for key, below in messages.items():
            yield from flatten(below, place if key == "_schema" else (*place, shown(str(key))))
        return
    for message in messages if isinstance(messages, list) else [messages]:
        if isinstance(message, Wrong):
            yield Fault(".".join(place), message.code, message.slots)
        else:
            yield Fault(".".join(place), str(message), {"key": place[-1] if place else ""})


def build(data: Plain) -> Job:
    """The frozen job; beams from the house outward, posts from left to right."""
    given = () if data["beams"] == CHOOSE else data["beams"]
    beams = sorted((beam_order(beam) for beam in given), key=lambda beam: beam.setback)
    joists = {f"joist_{key}": value for key, value in data.get("joists", {}).items()}
    patches = tuple(Patch(**patch) for patch in data.get("patches", ()))
    rest = {key: value for key, value in data.items() if key not in ("schema", "beams", "joists", "patches")}
    return Job(beams=tuple(beams), patches=patches, **joists, **rest)


def beam_order(beam: Plain) -> BeamOrder:
    posts = beam["posts"]
    return BeamOrder(
        setback=beam["setback"], plies=beam["plies"], size=beam["size"], at=tuple(sorted(posts.get("at", ()))),
        count=posts.get("count", 0), cantilever=posts.get("cantilever", 0.0),
    )


def write(job: Job) -> Plain:
    """The job file of a job; `read` gives the same job back (lengths to a millionth of an inch)."""
    def length(inches: float) -> str:
        return length_text(inches, job.units)
    return {
        "schema": SCHEMA_NUMBER, "name": job.name, "units": job.units,
        "width": length(job.width), "out": length(job.out), "attached": job.attached,
        "beams": CHOOSE if job.open else [beam_file(beam, length) for beam in job.beams],
        "string_face": job.string_face, "tape": length(job.tape), "crew": job.crew,
        "room_left": length(job.room_left), "room_right": length(job.room_right), "tolerance": length(job.tolerance),
    } | way_file(job) | frame_file(job, length)


def way_file(job: Job) -> Plain:
    """The way through the yard, where it is not the usual one."""
    return {} if job.way == Job.way else {"way": job.way}


def frame_file(job: Job, length: Callable[[float], str]) -> Plain:
    """What is said of lumber and loads, where it is not the usual: a file that says nothing of them stays as it was."""
    said = {key: getattr(job, key) for key in AS_IS if getattr(job, key) != getattr(Job, key)}
    said |= {key: length(getattr(job, key)) for key in ("frost", "height") if getattr(job, key)}
    if job.joist_size:
        said["joists"] = {"size": job.joist_size, "spacing": job.joist_spacing}
    if job.patches:
        said["patches"] = [patch_file(patch, length) for patch in job.patches]
    return said


def patch_file(patch: Patch, length: Callable[[float], str]) -> Plain:
    lengths = {key: length(getattr(patch, key)) for key in ("x", "y", "width", "out")}
    return {"name": patch.name, **lengths, "load": patch.load}


def beam_file(beam: BeamOrder, length: Callable[[float], str]) -> Plain:
    if beam.at:
        posts: Plain = {"at": [length(position) for position in beam.at]}
    else:
        posts = {"count": beam.count, "cantilever": length(beam.cantilever)}
    return {"setback": length(beam.setback), "plies": beam.plies, "size": beam.size, "posts": posts}


def length_text(inches: float, units: str) -> str:
    """As the tape shows it where that is exact, else decimal inches."""
    short: str = tape.show(inches, units)
    if abs(tape.parse(short, units)["inches"] - inches) < 1e-9:
        return short
    return f'{inches:.6f}"'


def read_text(content: str) -> Job:
    """A job from the text of a job file. Raises JobFaults, with line and column when the JSON itself is broken."""
    return read(parse_text(content))


def parse_text(content: str) -> Any:
    """The parsed JSON of a job file's text; keys given twice, NaN, half characters and broken JSON are JobFaults."""
    try:
        found = json.loads(content, object_pairs_hook=unique_keys, parse_constant=no_constant)
        json.dumps(found, ensure_ascii=False).encode()
    except json.JSONDecodeError as error:
        slots = {"line": str(error.lineno), "column": str(error.colno)}
        raise JobFaults([Fault("", "broken-json", slots)]) from error
    except UnicodeEncodeError as error:
        raise JobFaults([Fault("", "half-character")]) from error
    except (RecursionError, ValueError) as error:
        if isinstance(error, JobFaults):
            raise
        raise JobFaults([Fault("", "json-too-deep")]) from error
    return found


def unique_keys(pairs: list[tuple[str, Any]]) -> Plain:
    """An object whose keys each come once: a second value would silently win."""
    seen: Plain = {}
    for key, value in pairs:
        if key in seen:
            raise JobFaults([Fault(shown(key), "key-twice", {"key": shown(key)})])
        seen[key] = value
    return seen


def no_constant(name: str) -> Any:
    raise JobFaults([Fault("", "json-constant", {"given": name})])
