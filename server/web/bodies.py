"""JSON bodies as they come: the type, the encoding, and no number or nesting that would trip what follows."""
from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from flask import request

from server.errors import Refused

DEEPEST = 40  # of lists and groups within each other, in a body; an entry has two or three


class Unreadable(Refused):
    """A body that is not JSON."""

    status = 400


class WrongType(Refused):
    status = 415


def json_body() -> Any:
    """The parsed body. Raises WrongType, Unreadable, RequestEntityTooLarge."""
    if not request.is_json:
        raise WrongType("body-not-json")
    try:
        found = json.loads(request.get_data().decode("utf-8-sig"), parse_constant=no_constant)
    except (ValueError, RecursionError) as error:
        raise Unreadable("body-json") from error
    if deeper(found, DEEPEST):
        raise Unreadable("body-json")
    return found


def no_constant(name: str) -> Any:
    raise ValueError(name)


def deeper(value: Any, most: int) -> bool:
    """Whether lists and groups lie within each other more than `most` deep."""
    inner = [value]
    for _ in range(most):
        inner = [part for one in inner for part in parts(one) if type(part) in (dict, list)]
        if not inner:
            return False
    return True


def parts(value: Any) -> Iterable[Any]:
    """What is inside a list or a group of parsed JSON, nothing in anything else."""
    if type(value) is dict:
        return value.values()
    return value if type(value) is list else ()
