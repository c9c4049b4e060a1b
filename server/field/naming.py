"""A reading that does not fit: the slips it may have been, each by its own arithmetic, and what it would mean if right.

A slip says what the reading would have been without it ("meant"); it is named when that fits what the other readings
say. What lies below doubt is not questioned: a bent hook (1/16 in.), heat, two tapes that differ by a hair.
"""

import math

from . import digits, elsewhere, tape

LEAST = 0.125  # a misfit below an eighth is not questioned
SURE = 3.0  # standard deviations within which a slip explains a misfit
STEEP = 0.25  # a tape on the slope reads long by this much before it is named
FALLS = [6.0, 48.0]  # inches one end may stand above the other unnoticed
SAME = 0.000001


def slips(doc, reading, expected, doubt):
    """Every slip that explains a reading, in the order the trade asks, best first of each sort; [] where none does.

    reading: {"from", "to", "inches"} and, where known, "text" as typed and "held" (the burn was taken off). expected:
    inches the other readings say. doubt: one sigma of reading less expected, inches. Messages {"key", "slots"}.
    """
    room = max(SURE * doubt, LEAST)
    if abs(reading["inches"] - expected) <= room:
        return []
    units = doc["job"]["units"]
    shown = reading["inches"] + taken_off(reading, units)
    found = []
    tell(found, misread(reading, shown, units), expected, room)
    tell(found, less(digits.run_together(shown, units), reading, shown), expected, room)
    tell(found, burns(reading, units), expected, room)
    tell(found, less(digits.mistaken(shown, units), reading, shown), expected, room)
    tell(found, elsewhere.legs(doc, reading), expected, room)
    tell(found, elsewhere.sides(doc, reading), expected, room)
    tell(found, elsewhere.centres(doc, reading), expected, room)
    tell(found, slopes(reading, expected, room, units), expected, room)
    return [{"key": one["key"], "slots": one["slots"]} for one in found]


def what_it_means(doc, reading, expected):
    """What a reading would mean if it were right: how much more or less than the other readings say."""
    more = reading["inches"] - expected
    units = doc["job"]["units"]
    named = doc["yard"]["points"]
    slots = {"by": abs(more), "from": named[reading["from"]]["name"], "to": named[reading["to"]]["name"]}
    if tape.show(abs(more), units) == tape.show(0.0, units):
        return {"key": "walk.slip.means-same", "slots": slots}
    if more > 0:
        return {"key": "walk.slip.means-more", "slots": slots}
    return {"key": "walk.slip.means-less", "slots": slots}


def tell(found, some, expected, room):
    """Add to `found` what of one sort of slip fits, the nearest first, each once."""
    fitting = [one for one in some if one["meant"] > 0 and abs(one["meant"] - expected) <= room]
    for one in sorted(fitting, key=lambda slip: abs(slip["meant"] - expected)):
        if is_told(found, one) is False:
            found.append(one)


def is_told(found, one):
    """True when a slip of the same sort already says this."""
    for other in found:
        if other["key"] == one["key"]:
            if abs(other["meant"] - one["meant"]) < SAME or is_alike(other["slots"], one["slots"]):
                return True
    return False


def is_alike(some, others):
    """True when the slots of two messages of one key say the same."""
    for name in sorted(some.keys()):
        if isinstance(some[name], dict) or isinstance(others[name], dict):
            return False
        if isinstance(some[name], str) != isinstance(others[name], str) or some[name] != others[name]:
            return False
    return True


def taken_off(reading, units):
    """What was taken off the tape's own figure: the burn, where the reading says the tape was held there. Inches."""
    text = reading.get("text", None)
    if isinstance(text, str) and tape.relative_side(text) != "":
        return 0.0
    if reading.get("held", False) is True:
        return tape.burned(units)
    return 0.0


def less(some, reading, shown):
    """Slips that say what the tape showed, made to say what the reading would have been."""
    for one in some:
        one["meant"] = reading["inches"] + (one["showed"] - shown)
    return some


def misread(reading, shown, units):
    """One or two feet too many or too few; a decimetre or a metre in a metric job."""
    steps = [["walk.slip.foot", 12.0], ["walk.slip.two-feet", 24.0]]
    if units == "millimetre":
        steps = [["walk.slip.decimetre", 100.0 / tape.MM], ["walk.slip.metre", 1000.0 / tape.MM]]
    found = []
    for step in steps:
        for by in [step[1], 0.0 - step[1]]:
            slots = {"read": shown, "meant": shown - by}
            found.append({"key": step[0], "slots": slots, "meant": reading["inches"] - by})
    return found


def burns(reading, units):
    """Held at the 1-inch line (100 mm) and not taken off, or added instead; taken off without being held there."""
    burn = tape.burned(units)
    slots = {"by": burn}
    off = {"key": "walk.slip.burn-off", "slots": slots, "meant": reading["inches"] + burn}
    added = {"key": "walk.slip.burn-added", "slots": slots, "meant": reading["inches"] - burn}
    if taken_off(reading, units) > 0:
        return [off, added]
    added["meant"] = reading["inches"] - 2.0 * burn
    kept = {"key": "walk.slip.burn-kept", "slots": slots, "meant": reading["inches"] - burn}
    return [kept, off, added]


def slopes(reading, expected, room, units):
    """The tape on the slope: long by r - sqrt(r² - fall²) for a fall of 6 in. to 4 ft.; says the fall, to the inch."""
    run = reading["inches"]
    long = run - expected
    if long < STEEP or expected <= 0 or long + room < over(run, FALLS[0]) or long - room > over(run, FALLS[1]):
        return []
    fall = math.sqrt((run - expected) * (run + expected))
    slots = {"fall": by_inch(min(max(fall, FALLS[0]), FALLS[1]), units)}
    return [{"key": "walk.slip.slope", "slots": slots, "meant": expected}]


def over(run, fall):
    """How much longer than level a tape reads on a fall, inches."""
    if fall >= run:
        return run
    return run - math.sqrt((run - fall) * (run + fall))


def by_inch(inches, units):
    """A length to the nearest inch, or 10 mm: more would say more than is known."""
    step = 10.0 / tape.MM if units == "millimetre" else 1.0
    return math.floor(inches / step + 0.5) * step
