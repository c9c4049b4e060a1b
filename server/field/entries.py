"""Which entries can be taken: whole ones, that name what this yard has. Others stay in the book, and count nothing."""

import math

from . import points, reply

SHORTEST = 1.0  # inches on the plan: between nearer points there is nothing to pull


def is_entry(entry):
    """True for what has an id, a device, a kind and a number, whatever else it says."""
    for key in ["id", "device", "kind"]:
        if isinstance(entry.get(key, None), str) is False:
            return False
    return is_whole(entry.get("n", None))


def is_whole(value):
    """True for a whole number."""
    if isinstance(value, bool):
        return False
    if isinstance(value, int | float):
        return abs(value) < 1e15 and math.floor(value) == value
    return False


def order(entry):
    """Sort key of an entry: n in sixteen digits, then the device, then the id."""
    n = math.floor(entry["n"])
    digits = f"{n}"
    return "0000000000000000"[len(digits) :] + digits + " " + entry["device"] + " " + entry["id"]


def act_number(entry):
    """Which act of its step an entry answers; -1 for none."""
    if is_whole(entry.get("act", None)):
        return max(math.floor(entry["act"]), 0 - 1)
    return 0 - 1


def is_fit(doc, entry, act):
    """True when an entry answers this act, with points of this yard and numbers that can be."""
    kind = entry["kind"]
    if kind == "reading":
        return (act["act"] == "check" or act["act"] == "seek") and is_fit_reading(doc, entry)
    if kind == "move":
        return (act["act"] == "check" or act["act"] == "seek") and is_fit_move(doc, entry)
    if kind == "stake":
        return act["act"] == "stake" and is_of(entry, act) and is_fit_off(entry.get("off", None))
    if kind == "set":
        return act["act"] == "set" and is_of(entry, act)
    return kind == "heed" and act["act"] == "heed"


def is_of(entry, act):
    """True when an entry is of the act's own point, or names none."""
    return entry.get("point", act["point"]) == act["point"]


def is_fit_reading(doc, entry):
    """True for a length that a tape can have, or a known word why there is none, between two points that lie apart."""
    yard = doc["yard"]
    for end in ["from", "to"]:
        if isinstance(entry.get(end, None), str) is False or entry[end] not in yard["points"]:
            return False
    if points.planned(yard, entry["from"], entry["to"]) < SHORTEST:
        return False
    cannot = entry.get("cannot", "")
    if cannot != "":
        return isinstance(cannot, str) and cannot in reply.REASONS
    inches = entry.get("inches", None)
    return reply.is_number(inches) and inches > 0.0 and inches <= yard["tape"]["length"] + 12.0


def is_fit_move(doc, entry):
    """True for a way that a hand can move a nail, a flag or a mark on the wall."""
    names = doc["yard"]["points"]
    name = entry.get("point", None)
    if isinstance(name, str) is False or name not in names:
        return False
    kind = names[name]["kind"]
    if kind == "crossing" or kind == "ground":
        return False
    return is_pair(entry.get("by", None), doc["yard"]["tape"]["length"])


def is_fit_off(off):
    """True for a stake at its mark, or off it by what can be said."""
    return off is None or is_pair(off, reply.LONGEST_OFF)


def is_pair(value, most):
    """True for [dx, dy], neither of more inches than this."""
    if isinstance(value, list) is False or len(value) != 2:
        return False
    for one in value:
        if reply.is_number(one) is False or abs(one) > most:
            return False
    return True
