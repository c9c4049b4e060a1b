"""Tape text: what a carpenter writes and says, to inches and back.

Lengths are inches (float). Shown to the nearest sixteenth, reduced, halves up; whole millimetres in a metric job.
A number without a unit is a question, never a length; what cannot be read whole is refused with its position.
"""

import math

from . import tokens

MM = 25.4
LONGEST = 12000.0
IN_INCHES = {"ft": 12.0, "in": 1.0, "m": 1000.0 / 25.4, "cm": 10.0 / 25.4, "mm": 1.0 / 25.4}
RELATIVE = ["long", "short"]


def show(inches, units):
    """A length as the tape shows it: 10' 5 3/8" or 3181 mm. A negative length carries a minus sign."""
    if units == "millimetre":
        return whole(math.floor(abs(inches) * MM + 0.5), inches) + " mm"
    sixteenths = math.floor(abs(inches) * 16 + 0.5)
    feet = math.floor(sixteenths / 192)
    rest = inch_text(sixteenths - feet * 192)
    if feet > 0 and sixteenths - feet * 192 > 0 and sixteenths - feet * 192 < 16:
        rest = "0 " + rest
    sign = "-" if inches < 0 and sixteenths > 0 else ""
    if feet == 0:
        return sign + rest + '"'
    return sign + f"{feet}' " + rest + '"'


def at_least(inches, units):
    """A doubt as the tape may show it without promising too much: the next sixteenth (or millimetre) up, inches."""
    part = 0.0625
    if units == "millimetre":
        part = 1.0 / MM
    return math.ceil(inches / part - 1e-9) * part


def total(inches, units):
    """The same length in one unit: 125 3/8" or 3.181 m."""
    if units == "millimetre":
        count = math.floor(abs(inches) * MM + 0.5)
        metres = math.floor(count / 1000)
        return whole(metres, inches) + "." + three(count - metres * 1000) + " m"
    sixteenths = math.floor(abs(inches) * 16 + 0.5)
    sign = "-" if inches < 0 and sixteenths > 0 else ""
    return sign + inch_text(sixteenths) + '"'


def foot(units):
    """The length that stands for a foot in a job's own units: 12 in., or 300 mm. Inches."""
    if units == "millimetre":
        return 300.0 / MM
    return 12.0


def leg(units):
    """The step in which a triangle's legs are laid: a foot, or half a metre. Inches."""
    if units == "millimetre":
        return 500.0 / MM
    return 12.0


def whole(count, signed):
    """A whole number with the sign of what it came from, no sign on zero."""
    if signed < 0 and count > 0:
        return f"-{count}"
    return f"{count}"


def three(count):
    """A count below 1000 as three digits."""
    if count < 10:
        return f"00{count}"
    if count < 100:
        return f"0{count}"
    return f"{count}"


def inch_text(sixteenths):
    """Sixteenths as inches and a reduced fraction, without the mark: 5 3/8."""
    inches = math.floor(sixteenths / 16)
    top = sixteenths - inches * 16
    if top == 0:
        return f"{inches}"
    bottom = 16
    while math.floor(top / 2) * 2 == top:
        top = math.floor(top / 2)
        bottom = math.floor(bottom / 2)
    if inches == 0:
        return f"{top}/{bottom}"
    return f"{inches} {top}/{bottom}"


def parse(text, units):
    """Text to inches.

    {"status": "ok", "inches"}, {"status": "ask", "choices", "say"} or {"status": "bad", "at", "say"}. `units` (inch
    or millimetre) orders the choices of a question; it never decides what a bare number means.
    """
    found = []
    bad = tokens.read_tokens(text, found)
    if bad is not None:
        return refuse(text, bad["at"], bad["why"])
    if len(found) == 0:
        return refuse(text, 0, "empty")
    parts = []
    bad = read_parts(text, found, parts)
    if bad is not None:
        return bad
    if len(parts) == 1 and parts[0]["unit"] == "":
        return ask(text, bare_choices(parts[0], units))
    if parts[0]["unit"] == "":
        if len(parts) == 2 and parts[1]["unit"] == "" and fits_feet(parts):
            return ask(text, [choice(parts[0]["value"] * 12 + parts[1]["value"], units)])
        return refuse(text, parts[0]["end"], "unit")
    return add_parts(text, parts)


def reading(text, target, units, held):
    """A reading against its target: as `parse`, or "long by 5/16", "short 1/8"; `held` takes the burned inch off.

    Choices of a question come nearest the target first.
    """
    side = relative_side(text)
    if side == "":
        answer = parse(text, units)
        burn = 0.0
        if held:
            burn = burned(units)
        return against(text, answer, target, 1.0, 0.0 - burn)
    amount = text.lower().replace("by", "  ").replace("long", "    ").replace("short", "     ")
    answer = parse(amount, units)
    if answer["status"] == "ask" and amount.find("/") >= 0:
        answer = parse(amount.strip() + '"', units)
    if side == "long":
        return against(text, answer, target, 1.0, target)
    return against(text, answer, target, -1.0, target)


def burned(units):
    """Where the tape is held when it is not held at its end: the 1-inch line, or the 100 mm line. Inches."""
    if units == "millimetre":
        return 100.0 / MM
    return 1.0


def relative_side(text):
    """ "long" or "short" when the text says so, else ""."""
    low = text.lower()
    for word in RELATIVE:
        if low.find(word) >= 0:
            return word
    return ""


def against(text, answer, target, factor, shift):
    """Turn what was parsed into a reading: factor × inches + shift; choices nearest the target first."""
    if answer["status"] == "bad":
        return answer
    if answer["status"] == "ok":
        inches = answer["inches"] * factor + shift
        if inches < 0:
            return refuse(text, 0, "negative")
        return {"status": "ok", "inches": inches}
    choices = []
    for one in answer["choices"]:
        inches = one["inches"] * factor + shift
        if inches >= 0:
            choices.append({"inches": inches, "text": one["text"]})
    if len(choices) == 0:
        return refuse(text, 0, "negative")
    return ask(text, sorted(choices, key=lambda c: abs(c["inches"] - target)))


def refuse(text, at, why):
    """The shape of a refusal: where reading stopped, and why."""
    slots = {"text": text, "place": f"{at + 1}", "rest": text[at:]}
    return {"status": "bad", "at": at, "say": {"key": "walk.tape." + why, "slots": slots}}


def ask(text, choices):
    """The shape of a question."""
    return {"status": "ask", "choices": choices, "say": {"key": "walk.tape.ask", "slots": {"text": text}}}


def choice(inches, units):
    """One thing a bare number may have meant."""
    return {"inches": inches, "text": show(inches, units)}


def read_parts(text, found, parts):
    """Group found into amounts with their units: number [[-] fraction] [unit]; None, or the refusal."""
    i = 0
    while i < len(found):
        token = found[i]
        if token["kind"] == "dash" and len(parts) > 0 and parts[len(parts) - 1]["unit"] == "ft" and i + 1 < len(found):
            i = i + 1
            token = found[i]
        if token["kind"] == "dash" or token["kind"] == "unit":
            return refuse(text, token["at"], "unknown")
        part = {"value": token["value"], "at": token["at"], "end": token["end"], "unit": "", "kind": token["kind"]}
        part["digits"] = text[token["at"] : token["end"]]
        i = take_fraction(found, i + 1, part)
        if i < len(found) and found[i]["kind"] == "unit":
            part["unit"] = found[i]["value"]
            part["end"] = found[i]["end"]
            i = i + 1
        parts.append(part)
    return None


def take_fraction(found, i, part):
    """Add the fraction that follows a whole number (a dash or spaces between); the next token's index."""
    if part["kind"] != "whole":
        return i
    j = i
    if j + 1 < len(found) and found[j]["kind"] == "dash":
        j = j + 1
    if j < len(found) and found[j]["kind"] == "fraction":
        part["value"] = part["value"] + found[j]["value"]
        part["end"] = found[j]["end"]
        part["kind"] = "mixed"
        return j + 1
    return i


def fits_feet(parts):
    """True when two bare amounts can only be feet and inches: 10 5 3/8."""
    return parts[0]["kind"] == "whole" and parts[1]["value"] < 12 and parts[1]["kind"] != "decimal"


def bare_choices(part, units):
    """What a number without a unit may have meant, the most likely first."""
    value = part["value"]
    if units == "millimetre" and (part["kind"] == "whole" or part["kind"] == "decimal"):
        return within_reach([value / MM, value * 10 / MM, value * 1000 / MM], units)
    out = []
    if part["kind"] == "whole":
        split_digits(part["digits"], out)
    out.append(value)
    if part["kind"] == "whole" or part["kind"] == "decimal":
        out.append(value * 12)
    return within_reach(out, units)


def split_digits(digits, out):
    """113 as 11' 3", 1011 as 10' 11": each way the digits part into feet and inches below twelve."""
    for tail in range(1, 3):
        cut = len(digits) - tail
        if cut >= 1 and (tail == 1 or digits[cut : cut + 1] != "0"):
            inches = tokens.digits_value(digits[cut:])
            if inches < 12:
                out.append(tokens.digits_value(digits[0:cut]) * 12 + inches)


def within_reach(lengths, units):
    """Choices no longer than 100 ft, each once; all of them when none is."""
    out = []
    seen = []
    for inches in lengths:
        one = choice(inches, units)
        if inches <= 1200 and one["text"] not in seen:
            seen.append(one["text"])
            out.append(one)
    if len(out) == 0:
        out.append(choice(lengths[0], units))
    return out


def add_parts(text, parts):
    """Sum amounts that carry units: feet then inches, metres then centimetres or millimetres, or one alone."""
    first = parts[0]
    inches = first["value"] * IN_INCHES[first["unit"]]
    if len(parts) > 2:
        return refuse(text, parts[2]["at"], "unknown")
    if len(parts) == 2:
        second = parts[1]
        bad = second_part(first, second)
        if bad != "":
            return refuse(text, second["at"], bad)
        unit = second["unit"] if second["unit"] != "" else "in"
        inches = inches + second["value"] * IN_INCHES[unit]
    if inches > LONGEST:
        return refuse(text, 0, "long")
    return {"status": "ok", "inches": inches}


def second_part(first, second):
    """Why a second amount cannot follow the first, or ""."""
    if first["unit"] == "ft" and (second["unit"] == "in" or second["unit"] == ""):
        if first["kind"] != "whole":
            return "unknown"
        if second["value"] >= 12:
            return "twelve"
        return ""
    if first["unit"] == "m" and first["kind"] == "whole" and (second["unit"] == "mm" or second["unit"] == "cm"):
        return ""
    return "unknown"
