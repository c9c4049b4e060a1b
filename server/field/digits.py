"""Figures of a tape taken for others: digits swapped, 6 for 9, feet and inches run together. Inches as the tape shows.

A slip here is {"key", "slots", "showed"}: what the tape may have shown in place of what was read off it.
"""

import math

from . import tape, tokens

TURNED = {"6": "9", "9": "6"}


def run_together(shown, units):
    """11' 3" as 113 in. and the other way round; in a metric job centimetres as millimetres, and the other way."""
    if units == "millimetre":
        key = "walk.slip.ten"
        return [slip(key, shown, one, shown, one) for one in [shown * 10.0, shown / 10.0]]
    key = "walk.slip.run-together"
    parts = parts_of(shown)
    found = []
    splits = []
    tape.split_digits(f"{parts['whole']}", splits)
    for inches in splits:
        showed = shown + (inches - parts["whole"])
        found.append(slip(key, tape.total(shown, units), showed, shown, showed))
    if parts["feet"] > 0:
        joined = tokens.digits_value(f"{parts['feet']}" + f"{parts['inches']}")
        showed = shown + (joined - parts["whole"])
        found.append(slip(key, shown, tape.total(showed, units), shown, showed))
    return found


def slip(key, read, meant, shown, showed):
    """A slip, with what was read and what the tape showed as they are to be said."""
    return {"key": key, "slots": {"read": read, "meant": meant}, "shown": shown, "showed": showed}


def parts_of(shown):
    """A length as an inch tape shows it: {"whole": whole inches, "feet", "inches"}; the fraction is left out."""
    whole = math.floor(math.floor(shown * 16 + 0.5) / 16)
    feet = math.floor(whole / 12)
    return {"whole": whole, "feet": feet, "inches": whole - feet * 12}


def mistaken(shown, units):
    """Two digits swapped, or 6 for 9, in each figure that a tape shows."""
    found = []
    for figure in figures(shown, units):
        for other in swapped(figure["digits"]):
            found.append(exchanged("walk.slip.swapped", shown, figure, other, units))
        for other in turned(figure["digits"]):
            found.append(exchanged("walk.slip.six-nine", shown, figure, other, units))
    return found


def figures(shown, units):
    """The figures of a length: [{"digits", "worth": inches of one, "total": said in inches alone}]."""
    if units == "millimetre":
        count = math.floor(shown * tape.MM + 0.5)
        return [{"digits": f"{count}", "worth": 1.0 / tape.MM, "total": False}]
    parts = parts_of(shown)
    found = [{"digits": f"{parts['inches']}", "worth": 1.0, "total": parts["feet"] == 0}]
    if parts["feet"] > 0:
        found.append({"digits": f"{parts['feet']}", "worth": 12.0, "total": False})
        found.append({"digits": f"{parts['whole']}", "worth": 1.0, "total": True})
    return found


def exchanged(key, shown, figure, other, units):
    """The slip of one figure that was another on the tape."""
    by = tokens.digits_value(other) - tokens.digits_value(figure["digits"])
    showed = shown + by * figure["worth"]
    if figure["total"]:
        return slip(key, tape.total(shown, units), tape.total(showed, units), shown, showed)
    return slip(key, shown, showed, shown, showed)


def swapped(text):
    """A run of digits with each two neighbours exchanged; none that would begin with 0."""
    found = []
    for i in range(len(text) - 1):
        other = text[0:i] + text[i + 1 : i + 2] + text[i : i + 1] + text[i + 2 :]
        if other != text and other[0:1] != "0":
            found.append(other)
    return found


def turned(text):
    """A run of digits with each 6 in it a 9, each 9 a 6, one at a time."""
    found = []
    for i in range(len(text)):
        digit = TURNED.get(text[i : i + 1], "")
        if digit != "":
            found.append(text[0:i] + digit + text[i + 1 :])
    return found
