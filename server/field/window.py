"""Windows: where a footing may stand along its beam, and its beam's string from the house, before a limit breaks.

Limits are {"width", "share": of the bay beside it that a beam's end may run past its last post, "patched": True on a
deck with a heavier patch, "beams": [{"number", "setback", "posts": [x], "span": the most of a bay or 0 when not known,
"near", "far": least and most setback or None, "near_key", "far_key": what limits them}]}; inches, wall frame.
Each window is for the other posts where they are.
"""

import math

SLACK = 1e-6
SIXTEENTH = 0.0625
MILLIMETRE = 1.0 / 25.4


def placed(limits, doc, state):
    """The limits with every post that was staked off its mark where it was staked.

    Adds "step" (the least a tape of the job's units shows) and to each beam "sides" (how wide each footing is, 0 when
    not known) and "off_plan" (whether a footing of it stands anywhere but on its mark).
    """
    sides = {}
    for footing in doc["frame"].get("footings", []):
        sides[footing["point"]] = footing["side"]
    beams = []
    for beam in limits["beams"]:
        here = dict(beam)
        here["posts"] = []
        here["sides"] = []
        here["off_plan"] = False
        for i in range(len(beam["posts"])):
            name = f"G{beam['number']}-{i + 1}"
            here["posts"].append(beam["posts"][i] + aside(state, name))
            here["sides"].append(sides.get(name, 0.0))
            if is_off(state, name):
                here["off_plan"] = True
        beams.append(here)
    step = SIXTEENTH
    if doc["job"]["units"] != "inch":
        step = MILLIMETRE
    patched = limits.get("patched", False)
    return {"width": limits["width"], "share": limits["share"], "patched": patched, "step": step, "beams": beams}


def aside(state, name):
    """How far right of its mark a footing was staked, inches."""
    mark = state["marks"].get(name, None)
    if mark is None or mark["off"] is None:
        return 0.0
    return mark["off"][0]


def is_off(state, name):
    """Whether a footing was staked anywhere but on its mark."""
    mark = state["marks"].get(name, None)
    if mark is None or mark["off"] is None:
        return False
    return mark["off"][0] != 0.0 or mark["off"][1] != 0.0


def find_beam(limits, n):
    """A beam by its number. Raises ValueError for an unknown one."""
    for beam in limits["beams"]:
        if beam["number"] == n:
            return beam
    raise ValueError(f"no such beam: {n}")


def bay(limits, n, m):
    """Where post m of beam n may stand: {"low", "high", "low_key", "high_key"}; low > high where nothing holds.

    Every rule that post m has a part in holds in between: bays, both end cantilevers, holes, the beam's own ends.
    """
    beam = find_beam(limits, n)
    posts = beam["posts"]
    last = len(posts)
    end = "walk.window.limit.end"
    found = {"low": 0.0, "low_key": end, "high": limits["width"], "high_key": end}
    if m > 1:
        lift(found, posts[m - 2] + apart(beam, m - 1), "holes")
        if beam["span"] > 0.0:
            drop(found, posts[m - 2] + beam["span"], "bay")
    if m < last:
        drop(found, posts[m] - apart(beam, m), "holes")
        if beam["span"] > 0.0:
            lift(found, posts[m] - beam["span"], "bay")
    share = limits["share"]
    if m == 1:
        drop(found, share * posts[1] / (1.0 + share), "left")
    if m == 2:
        lift(found, posts[0] + posts[0] / share, "left")
    if m == last:
        lift(found, (limits["width"] + share * posts[last - 2]) / (1.0 + share), "right")
    if m == last - 1:
        drop(found, posts[last - 1] - (limits["width"] - posts[last - 1]) / share, "right")
    return found


def lift(found, value, what):
    """Raise the low end of a window to a limit."""
    if value > found["low"]:
        found["low"] = value
        found["low_key"] = "walk.window.limit." + what


def drop(found, value, what):
    """Lower the high end of a window to a limit."""
    if value < found["high"]:
        found["high"] = value
        found["high_key"] = "walk.window.limit." + what


def apart(beam, m):
    """How far apart the centres of footings m and m + 1 are when their holes touch; 0 when their width is not known."""
    sides = beam.get("sides", None)
    if sides is None:
        return 0.0
    return (sides[m - 1] + sides[m]) / 2.0


def rules(limits, beam, posts):
    """Every rule along a beam with its posts here: [{"key", "from", "to", "actual", "most"}]; it holds when
    actual <= most. Bays from post to post; an end's "from" is its own post, its "to" the one beside it."""
    last = len(posts)
    past = limits["width"] - posts[last - 1]
    found = [
        rule("end", 1, 1, 0.0, posts[0]),
        rule("end", last, last, 0.0, past),
        rule("left", 1, 2, posts[0], limits["share"] * (posts[1] - posts[0])),
        rule("right", last, last - 1, past, limits["share"] * (posts[last - 1] - posts[last - 2])),
    ]
    for i in range(1, last):
        run = posts[i] - posts[i - 1]
        found.append(rule("holes", i, i + 1, apart(beam, i), run))
        if beam["span"] > 0.0:
            found.append(rule("bay", i, i + 1, run, beam["span"]))
    return found


def rule(what, start, end, actual, most):
    """One rule along a beam."""
    return {"key": "walk.window.breaks." + what, "from": start, "to": end, "actual": actual, "most": most}


def move(limits, n, m, dx, dy):
    """May post m of beam n move dx right (negative: left) and, with its beam's string, dy away from the house?

    {"holds", "say": yes or the limit that breaks, "lines": what else is to be said, "window": as `bay` has it,
    "near", "far": the string's window}. Lines: the room left each way from there, or the moves that would hold.
    What is not reckoned here does not hold: then "say" tells why, and no window is told.
    """
    beam = find_beam(limits, n)
    why = unreckoned(limits, beam, dx, dy)
    if why is not None:
        said = {"key": "walk.window." + why, "slots": {"n": f"{n}"}}
        return {"holds": False, "say": said, "lines": [], "window": None, "near": None, "far": None}
    return reckoned(limits, beam, m, dx, dy)


def unreckoned(limits, beam, dx, dy):
    """Why a move is not reckoned on the phone, or None. How far a beam spans changes with its string's setback, so a
    move both ways has no window; the string's window is that of the posts as planned; patches are the desk's."""
    if limits.get("patched", None) is True:
        return "patched"
    if dx != 0.0 and dy != 0.0:
        return "one-way"
    if dy != 0.0 and beam.get("off_plan", None) is True:
        return "off-plan"
    return None


def reckoned(limits, beam, m, dx, dy):
    """A move one way, or none, against every rule; see `move`."""
    n = beam["number"]
    open_bay = bay(limits, n, m)
    posts = list(beam["posts"])
    posts[m - 1] = posts[m - 1] + dx
    along = breaks_along(limits, beam, posts)
    out = breaks_out(limits, beam, beam["setback"] + dy)
    broken = along + out
    lines = []
    said = said_yes(n, m, dx, dy)
    if len(broken) > 0:
        said = broken[0]
        lines = broken[1:]
        if len(along) > 0:
            lines.append(moves_along(limits, beam["posts"][m - 1], open_bay))
        if len(out) > 0 and beam.get("off_plan", None) is not True:
            lines.append(moves_out(limits, beam))
    else:
        if dy == 0.0:
            lines = rooms_along(limits, open_bay, posts[m - 1])
        if dx == 0.0 and beam.get("off_plan", None) is not True:
            lines = lines + rooms_out(limits, beam, beam["setback"] + dy)
    if dy != 0.0:
        lines.append({"key": "walk.window.string", "slots": {"n": f"{n}"}})
    if beam["span"] <= 0.0:
        lines.append({"key": "walk.window.span-unknown", "slots": {"n": f"{n}"}})
    return {
        "holds": len(broken) == 0,
        "say": said,
        "lines": lines,
        "window": open_bay,
        "near": beam.get("near", None),
        "far": beam.get("far", None),
    }


def breaks_along(limits, beam, posts):
    """A sentence for each rule along the beam that does not hold; lengths to the side that shows it."""
    found = []
    for one in rules(limits, beam, posts):
        if one["actual"] > one["most"] + SLACK:
            slots = {"n": f"{beam['number']}", "from": f"{one['from']}", "to": f"{one['to']}"}
            slots["actual"] = upward(limits, one["actual"])
            slots["most"] = downward(limits, one["most"])
            found.append({"key": one["key"], "slots": slots})
    return found


def breaks_out(limits, beam, setback):
    """A sentence when the string does not stand between its least and most setback."""
    number = f"{beam['number']}"
    near = beam.get("near", None)
    far = beam.get("far", None)
    if near is not None and setback < near - SLACK:
        slots = {"n": number, "actual": downward(limits, setback), "most": upward(limits, near)}
        slots["limit"] = {"word": beam["near_key"]}
        return [{"key": "walk.window.breaks.near", "slots": slots}]
    if far is not None and setback > far + SLACK:
        slots = {"n": number, "actual": upward(limits, setback), "most": downward(limits, far)}
        slots["limit"] = {"word": beam["far_key"]}
        return [{"key": "walk.window.breaks.far", "slots": slots}]
    return []


def said_yes(n, m, dx, dy):
    """Yes, with the move; or that it holds where it stands."""
    point = {"word": "walk.name.G", "slots": {"n": f"{n}", "m": f"{m}"}}
    if dx == 0.0 and dy == 0.0:
        return {"key": "walk.window.stands", "slots": {"point": point}}
    by = way(dx, "left", "right")
    if dx == 0.0:
        by = way(dy, "toward", "away")
    return {"key": "walk.window.yes", "slots": {"point": point, "by": by}}


def way(amount, minus, plus):
    """A signed amount as words: how much to which side."""
    if amount < 0.0:
        return {"word": "walk.window.by." + minus, "slots": {"amount": 0.0 - amount}}
    return {"word": "walk.window.by." + plus, "slots": {"amount": amount}}


def rooms_along(limits, between, x):
    """How far it is along the beam from here to the limit on each side."""
    return [
        room(limits, "left", x - between["low"], between["low_key"]),
        room(limits, "right", between["high"] - x, between["high_key"]),
    ]


def rooms_out(limits, beam, y):
    """How far it is from here to the string's limits toward the house and away."""
    found = []
    near = beam.get("near", None)
    far = beam.get("far", None)
    if near is not None:
        found.append(room(limits, "toward", y - near, beam["near_key"]))
    if far is not None:
        found.append(room(limits, "away", far - y, beam["far_key"]))
    return found


def room(limits, side, inches, key):
    """The room on one side, and what ends it."""
    return {"key": "walk.window.room." + side, "slots": {"room": downward(limits, inches), "limit": {"word": key}}}


def moves_along(limits, x, between):
    """Which moves of a post hold, from where it stands."""
    return moves(limits, between["low"] - x, between["high"] - x, ["left", "right", "along"])


def moves_out(limits, beam):
    """Which moves of a beam's string hold."""
    least = 0.0 - beam["setback"]
    most = None
    near = beam.get("near", None)
    far = beam.get("far", None)
    if near is not None:
        least = near - beam["setback"]
    if far is not None:
        most = far - beam["setback"]
    if most is None:
        return {"key": "walk.window.moves.from", "slots": {"by": way(upward(limits, least), "toward", "away")}}
    return moves(limits, least, most, ["toward", "away", "out"])


def moves(limits, lowest, highest, names):
    """Moves from lowest to highest (signed inches): room on both sides, from-to on one side, or none at all."""
    least = upward(limits, lowest)
    most = downward(limits, highest)
    if least > most + SLACK:
        return {"key": "walk.window.moves.none-" + names[2], "slots": {}}
    if least > SLACK or most < 0.0 - SLACK:
        from_to = {"least": way(least, names[0], names[1]), "most": way(most, names[0], names[1])}
        if most < 0.0:
            from_to = {"least": from_to["most"], "most": from_to["least"]}
        return {"key": "walk.window.moves.only", "slots": from_to}
    slots = {"minus": 0.0 - least, "plus": most}
    return {"key": "walk.window.moves." + names[2], "slots": slots}


def downward(limits, inches):
    """The longest length on the tape that is not more than this."""
    step = limits.get("step", SIXTEENTH)
    return math.floor(inches / step + SLACK) * step


def upward(limits, inches):
    """The shortest length on the tape that is not less than this."""
    return 0.0 - downward(limits, 0.0 - inches)
