"""Tape text cut into numbers, fractions, units and dashes. What cannot be cut has its position and the reason."""

DIGITS = "0123456789"
FRACTIONS = {
    "½": [1, 2],
    "¼": [1, 4],
    "¾": [3, 4],
    "⅛": [1, 8],
    "⅜": [3, 8],
    "⅝": [5, 8],
    "⅞": [7, 8],
}
UNITS = {
    "'": "ft",
    "′": "ft",
    "’": "ft",
    "ft": "ft",
    "ft.": "ft",
    "foot": "ft",
    "feet": "ft",
    '"': "in",
    "″": "in",
    "”": "in",
    "''": "in",
    "′′": "in",
    "’’": "in",
    "in": "in",
    "in.": "in",
    "inch": "in",
    "inches": "in",
    "m": "m",
    "cm": "cm",
    "mm": "mm",
}
DENOMINATORS = [2, 4, 8, 16, 32, 64]


def read_tokens(text, found):
    """Cut text into the list `found`; None, or the token that cannot be read {"kind": "bad", "at", "why"}."""
    at = 0
    while at < len(text):
        char = text[at : at + 1]
        if char == " " or char == "\u00a0" or char == "\t":
            at = at + 1
        elif char == "-" or char == "–":
            found.append({"kind": "dash", "at": at, "end": at + 1})
            at = at + 1
        elif char in DIGITS or char == "." or char in FRACTIONS:
            token = number_token(text, at)
            if token["kind"] == "bad":
                return token
            found.append(token)
            at = token["end"]
        else:
            token = unit_token(text, at)
            if token["kind"] == "bad":
                return token
            found.append(token)
            at = token["end"]
    return None


def digits_end(text, at):
    """Where the run of digits that starts at `at` ends."""
    end = at
    while end < len(text) and text[end : end + 1] in DIGITS:
        end = end + 1
    return end


def digits_value(text):
    """Value of a run of at most nine digits."""
    value = 0
    for char in text:
        value = value * 10 + DIGITS.find(char)
    return value


def bad_token(at, why):
    """A token that ends the reading."""
    return {"kind": "bad", "at": at, "why": why}


def number_token(text, at):
    """A whole number, a decimal or a fraction that starts at `at`."""
    char = text[at : at + 1]
    if char in FRACTIONS:
        pair = FRACTIONS[char]
        return {"kind": "fraction", "value": pair[0] / pair[1], "at": at, "end": at + 1}
    end = digits_end(text, at)
    if end - at > 9:
        return bad_token(at, "long")
    if text[end : end + 1] == "/" and end > at:
        return fraction_token(text, at, end)
    if text[end : end + 1] == ".":
        return decimal_token(text, at, end)
    return {"kind": "whole", "value": digits_value(text[at:end]), "at": at, "end": end}


def fraction_token(text, at, slash):
    """top/bottom with a bottom that tapes have, top smaller than bottom."""
    end = digits_end(text, slash + 1)
    if end == slash + 1 or end - slash > 3:
        return bad_token(slash, "fraction")
    top = digits_value(text[at:slash])
    bottom = digits_value(text[slash + 1 : end])
    for one in DENOMINATORS:
        if bottom == one and top < bottom:
            return {"kind": "fraction", "value": top / bottom, "at": at, "end": end}
    return bad_token(at, "fraction")


def decimal_token(text, at, point):
    """digits.digits, at most six behind the point."""
    end = digits_end(text, point + 1)
    if end == point + 1 or end - point > 7:
        return bad_token(point, "decimal")
    power = 1
    for _ in range(end - point - 1):
        power = power * 10
    mantissa = digits_value(text[at:point]) * power + digits_value(text[point + 1 : end])
    return {"kind": "decimal", "value": mantissa / power, "at": at, "end": end}


def unit_token(text, at):
    """The longest unit that starts at `at`; "ft." and "in." keep their point."""
    low = text.lower()
    if len(low) != len(text):
        return bad_token(at, "unknown")
    end = 0
    found = ""
    for name in sorted(UNITS.keys()):
        if low[at : at + len(name)] == name and len(name) > len(found):
            found = name
            end = at + len(name)
    if found == "":
        return bad_token(at, "unknown")
    if found[0:1] in "fimc" and end < len(low) and low[end : end + 1] in "abcdefghijklmnopqrstuvwxyz":
        return bad_token(at, "unknown")
    return {"kind": "unit", "value": UNITS[found], "at": at, "end": end}
