"""The job file described as JSON Schema 2020-12, for people and programs that write job files.

It says what each part is; what must agree between parts (a post inside the deck) is checked by `server.job` alone.
"""
from __future__ import annotations

from server.job import MOST_POSTS, SCHEMA_NUMBER, SIZES, STRING_FACES, UNITS
from server.job_checks import MOST_BEAMS, NAME_LENGTH
from server.model import Plain
from server.words import sentence

LENGTH: Plain = {"type": "string", "minLength": 1, "examples": ["11' 6\"", "10' 5 3/8\"", "125.375\"", "3180 mm"]}
OPTIONAL = ("string_face", "room_left", "room_right", "tolerance")


def json_schema() -> Plain:
    """The whole description; every property carries a sentence from the words."""
    properties = {
        "schema": {"const": SCHEMA_NUMBER},
        "name": {"type": "string", "minLength": 1, "maxLength": NAME_LENGTH},
        "units": {"enum": list(UNITS)},
        "width": LENGTH,
        "out": LENGTH,
        "attached": {"type": "boolean"},
        "beams": {"type": "array", "minItems": 1, "maxItems": MOST_BEAMS, "items": beam()},
        "string_face": {"enum": list(STRING_FACES), "default": "centre"},
        "tape": LENGTH,
        "crew": {"type": "integer", "minimum": 1, "maximum": 2},
        "room_left": LENGTH | {"default": "4'"},
        "room_right": LENGTH | {"default": "4'"},
        "tolerance": LENGTH | {"default": "1/4\""},
    }
    title = sentence("desk.schema.title")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title} | closed("job", properties)


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
