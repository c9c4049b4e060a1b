"""The job file described as JSON Schema 2020-12, for people and programs that write job files.

It says what each part is; what must agree between parts (a post inside the deck) is checked by `server.job` alone.
"""
from __future__ import annotations

from server import job
from server.job import MOST_POSTS, SCHEMA_NUMBER, SIZES, STRING_FACES, UNITS
from server.job_checks import CHOOSE, MOST_BEAMS, MOST_PATCHES, NAME_LENGTH
from server.model import WAYS, Job, Plain
from server.words import sentence

LENGTH: Plain = {"type": "string", "minLength": 1, "examples": ["11' 6\"", "10' 5 3/8\"", "125.375\"", "3180 mm"]}
NAME: Plain = {"type": "string", "minLength": 1, "maxLength": NAME_LENGTH}
OPTIONAL = (
    "string_face", "room_left", "room_right", "tolerance", "way", "species", "edition", "joists", "live", "soil",
    "frost", "height", "post", "footing", "fastener", "patches",
)

CHOOSE_NEEDS_SPECIES: Plain = {
    "if": {"properties": {"beams": {"const": CHOOSE}}, "required": ["beams"]}, "then": {"required": ["species"]},
}


def json_schema() -> Plain:
    """The whole description; every property carries a sentence from the words."""
    properties = {
        "schema": {"const": SCHEMA_NUMBER},
        "name": NAME,
        "units": {"enum": list(UNITS)},
        "width": LENGTH,
        "out": LENGTH,
        "attached": {"type": "boolean"},
        "beams": beams(),
        "string_face": {"enum": list(STRING_FACES), "default": "centre"},
        "tape": LENGTH,
        "crew": {"type": "integer", "minimum": 1, "maximum": 2},
        "room_left": LENGTH | {"default": "4'"},
        "room_right": LENGTH | {"default": "4'"},
        "tolerance": LENGTH | {"default": "1/4\""},
        "way": usual(WAYS, Job.way),
    } | lumber_and_loads()
    title = sentence("desk.schema.title")
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title}
    return head | closed("job", properties) | CHOOSE_NEEDS_SPECIES


def lumber_and_loads() -> Plain:
    """What the frame is made of and carries; left out, each is the usual or not said."""
    joists = {"size": {"enum": list(SIZES)}, "spacing": {"enum": list(job.SPACINGS)}}
    return {
        "species": {"enum": list(job.SPECIES)},
        "edition": usual(job.EDITIONS, Job.edition),
        "joists": closed("joists", joists),
        "live": whole(job.LIVE) | {"default": Job.live},
        "soil": whole(job.SOIL) | {"default": Job.soil},
        "frost": LENGTH,
        "height": LENGTH,
        "post": usual(job.POSTS, Job.post),
        "footing": usual(job.FOOTINGS, Job.footing),
        "fastener": usual(job.FASTENERS, Job.fastener),
        "patches": {"type": "array", "maxItems": MOST_PATCHES, "items": patch()},
    }


def usual(allowed: tuple[str, ...], default: str) -> Plain:
    return {"enum": list(allowed), "default": default}


def whole(limits: tuple[int, int]) -> Plain:
    return {"type": "integer", "minimum": limits[0], "maximum": limits[1]}


def patch() -> Plain:
    lengths = dict.fromkeys(("x", "y", "width", "out"), LENGTH)
    return closed("patch", {"name": NAME, **lengths, "load": whole(job.PATCH_LOAD)})


def beams() -> Plain:
    """A list of beams, or the one word that asks for frames to be found."""
    listed = {"minItems": 1, "maxItems": MOST_BEAMS, "items": beam()}
    return {"type": ["array", "string"], "pattern": f"^{CHOOSE}$"} | listed


def beam() -> Plain:
    return closed("beam", {
        "setback": LENGTH,
        "plies": {"type": "integer", "minimum": 1, "maximum": 3},
        "size": {"enum": list(SIZES)},
        "posts": {"oneOf": [posts_by_position(), posts_by_count()]},
    })


def posts_by_position() -> Plain:
    return closed("posts", {"at": {"type": "array", "minItems": 2, "maxItems": MOST_POSTS, "items": LENGTH}})


def posts_by_count() -> Plain:
    count = {"type": "integer", "minimum": 2, "maximum": MOST_POSTS}
    return closed("posts", {"count": count, "cantilever": LENGTH})


def closed(owner: str, properties: Plain) -> Plain:
    """An object of exactly these properties, each with its sentence."""
    described = {
        key: value | {"description": sentence(f"desk.schema.{owner}.{key}")} for key, value in properties.items()
    }
    required = [key for key in properties if key not in OPTIONAL]
    return {"type": "object", "properties": described, "required": required, "additionalProperties": False}
