"""A quick look at an entry, for long books: most are plainly whole, only the others are asked what they lack.

`tests/test_book_quick.py` holds it to the schemas in `book`: what is plainly whole here, they take without a word.
"""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

from server.field import after
from server.model import WAYS, Plain

MOST_SEEN = 50  # other devices that an entry names
MOST_N = 10**9
LONGEST_NAME, LONGEST_TIME = 80, 40
FIRST_ACT, LAST_ACT = -1, 1000
MOST_INCHES = 1e9  # what no yard reaches; whole numbers of any length are compared with it safely
CANNOT = ("blocked", "too long", "alone")


def plainly_whole(entry: Plain) -> bool:
    """True for an entry of a known kind that has all it needs; False decides nothing."""
    own = OWN.get(entry["kind"])
    at = entry.get("at")
    return (
        own is not None
        and is_name(entry.get("id"))
        and is_name(entry.get("device"))
        and is_count(entry.get("n"))
        and type(at) is str and len(at) <= LONGEST_TIME
        and type(entry.get("revision")) is type(entry.get("job")) is type(entry.get("step")) is str
        and ("act" not in entry or is_act(entry["act"]))
        and ("seen" not in entry or is_seen(entry["seen"]))
        and own(entry)
    )


def is_name(value: Any) -> bool:
    return type(value) is str and 0 < len(value) <= LONGEST_NAME


def is_count(value: Any) -> bool:
    return type(value) is int and 0 < value <= MOST_N


def is_act(value: Any) -> bool:
    return type(value) is int and FIRST_ACT <= value <= LAST_ACT


def is_number(value: Any) -> bool:
    return type(value) in (int, float) and -MOST_INCHES <= value <= MOST_INCHES


def is_seen(value: Any) -> bool:
    if type(value) is not dict or len(value) > MOST_SEEN:
        return False
    return all(is_name(device) and is_count(n) for device, n in value.items())


def is_pair(value: Any) -> bool:
    return type(value) is list and len(value) == 2 and is_number(value[0]) and is_number(value[1])


def names_point(entry: Plain) -> bool:
    return type(entry.get("point")) is str


def is_reading(entry: Plain) -> bool:
    """A length, or why there is none; which of the two is left to the check that follows."""
    return (
        type(entry.get("from")) is type(entry.get("to")) is str
        and ("inches" not in entry or is_number(entry["inches"]))
        and ("cannot" not in entry or entry["cannot"] in CANNOT)
    )


# What each kind needs beside what every entry carries.
OWN: dict[str, Callable[[Plain], bool]] = {
    "heed": lambda entry: True,
    "note": lambda entry: True,
    "set": names_point,
    "reading": is_reading,
    "move": lambda entry: names_point(entry) and is_pair(entry.get("by")),
    "stake": lambda entry: names_point(entry) and (entry.get("off") is None or is_pair(entry["off"])),
    "strike": lambda entry: type(entry.get("strikes")) is str,
    "way": lambda entry: type(entry.get("way")) is str and entry["way"] in WAYS,
    "after": lambda entry: type(entry.get("what")) is str and entry["what"] in after.KINDS,
}
