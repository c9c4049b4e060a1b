"""Points taken elsewhere than the plan has them: legs exchanged, the wrong face of a beam, the face of a post.

A slip here is {"key", "slots", "meant"}: the reading with what the wrong place added taken off again. What it added
is reckoned on the plan, so it follows the pull's own direction.
"""

from . import points, square, tokens

PLY = 1.5  # inches, a board of two inches nominal
PLIES = 2  # where the document does not say how many boards a beam has
POSTS = [4, 6]  # nominal inches, where the document does not say what posts are
CORNERS = [["left", "SL", "TL", "WR"], ["right", "SR", "TR", "WL"]]


def legs(doc, reading):
    """A leg mark or flag of a squaring triangle set by the other leg's length.

    Both exchanged leave the closing side as it is: that cannot be seen by it, and does no harm to the square.
    """
    yard = doc["yard"]
    found = []
    for names in CORNERS:
        corner = yard["strings"][names[0]]["from"]
        flag = names[1]
        mark = names[2] if names[2] in yard["points"] else ""
        if flag in yard["points"]:
            a = points.planned(yard, corner, mark if mark != "" else names[3])
            b = points.planned(yard, corner, flag)
            add_leg(found, yard, reading, flag, corner, [a, b])
            if mark != "":
                add_leg(found, yard, reading, mark, corner, [b, a])
    return found


def add_leg(found, yard, reading, name, corner, lengths):
    """Add the slip of one mark set at `lengths[0]` from its corner where `lengths[1]` was wanted."""
    other = other_end(reading, name)
    if other == "" or lengths[1] <= 0:
        return
    seen = points.plan_view(yard)
    start = points.place(seen, 0, corner)
    here = points.place(seen, 0, name)
    share = lengths[0] / lengths[1] - 1.0
    shift = [share * (here[0] - start[0]), share * (here[1] - start[1])]
    slots = {"point": yard["points"][name]["name"], "got": lengths[0], "want": lengths[1]}
    meant = reading["inches"] - change(yard, name, other, shift)
    found.append({"key": "walk.slip.legs", "slots": slots, "meant": meant})


def other_end(reading, name):
    """The other end of a reading that ends at a point, or ""."""
    if reading["to"] == name:
        return reading["from"]
    if reading["from"] == name:
        return reading["to"]
    return ""


def change(yard, name, other, shift):
    """How much longer the plan's distance of two points gets when the first shifts by [dx, dy]."""
    seen = points.plan_view(yard)
    here = points.place(seen, 0, name)
    end = points.place(seen, 0, other)
    dx = here[0] - end[0]
    dy = here[1] - end[1]
    return square.length(dx + shift[0], dy + shift[1]) - square.length(dx, dy)


def sides(doc, reading):
    """Pulled to the face of a beam that the string does not stand for: off by the whole thickness."""
    found = []
    for name in [reading["to"], reading["from"]]:
        beam = beam_of(doc["yard"], name)
        if beam != "" and doc["yard"]["points"][name]["kind"] != "ground":
            aside = centre_from(doc["yard"], beam)
            if aside is not None:
                slots = {"thick": 2.0 * square.length(aside[0], aside[1])}
                add_shift(found, doc, reading, name, "walk.slip.side", slots, [2.0 * aside[0], 2.0 * aside[1]])
    return found


def centres(doc, reading):
    """Centre for face or face for centre: half a beam, or half a post."""
    found = []
    for name in [reading["to"], reading["from"]]:
        beam = beam_of(doc["yard"], name)
        if beam != "":
            add_half_beam(found, doc, reading, name, beam)
            for size in post_sizes(doc, beam):
                add_half_post(found, doc, reading, name, beam, (size - 0.5) / 2.0)
    return found


def add_half_beam(found, doc, reading, name, beam):
    """Half a beam: from the centre to either face, or from the face the string stands for to the centre."""
    aside = centre_from(doc["yard"], beam)
    key = "walk.slip.face"
    if aside is not None and doc["yard"]["points"][name]["kind"] != "ground":
        slots = {"half": square.length(aside[0], aside[1])}
        add_shift(found, doc, reading, name, "walk.slip.centre", slots, aside)
        return
    if aside is None:
        half = plies_of(doc, beam) * PLY / 2.0
        way = way_of(doc["yard"], beam)
        aside = [0.0 - half * way[1], half * way[0]]
    slots = {"half": square.length(aside[0], aside[1])}
    add_shift(found, doc, reading, name, key, slots, aside)
    add_shift(found, doc, reading, name, key, slots, [0.0 - aside[0], 0.0 - aside[1]])


def add_half_post(found, doc, reading, name, beam, half):
    """Half a post: along the beam at a footing's mark; across it where the mark stands for the centre line."""
    way = way_of(doc["yard"], beam)
    kind = doc["yard"]["points"][name]["kind"]
    for by in [half, 0.0 - half]:
        if kind != "crossing":
            add_shift(found, doc, reading, name, "walk.slip.post", {"half": half}, [by * way[0], by * way[1]])
        if kind == "ground" or centre_from(doc["yard"], beam) is None:
            add_shift(found, doc, reading, name, "walk.slip.post", {"half": half}, [0.0 - by * way[1], by * way[0]])


def add_shift(found, doc, reading, name, key, slots, shift):
    """Add the slip of an end taken elsewhere by [dx, dy]."""
    meant = reading["inches"] - change(doc["yard"], name, other_end(reading, name), shift)
    found.append({"key": key, "slots": slots, "meant": meant})


def beam_of(yard, name):
    """The beam's string that a corner, flag or ground mark belongs to, or ""."""
    point = yard["points"][name]
    if point["kind"] == "ground":
        return beam_of(yard, point["under"])
    own = []
    if point["kind"] == "flag":
        own = [point["string"]]
    if point["kind"] == "crossing":
        own = point["strings"]
    for string in own:
        if string.startswith("beam"):
            return string
    return ""


def centre_from(yard, beam):
    """[dx, dy] from a beam's string to its centre line where the string runs on a face, or None."""
    for name in sorted(yard["points"].keys()):
        point = yard["points"][name]
        if point["kind"] == "ground" and beam_of(yard, name) == beam:
            return point.get("offset", None)
    return None


def way_of(yard, beam):
    """Unit vector along a beam's string."""
    seen = points.plan_view(yard)
    a = points.place(seen, 0, yard["strings"][beam]["from"])
    b = points.place(seen, 0, yard["strings"][beam]["to"])
    run = square.length(b[0] - a[0], b[1] - a[1])
    return [(b[0] - a[0]) / run, (b[1] - a[1]) / run]


def size_said(doc, beam, kind):
    """How the frame's check names a beam or its posts (2-2x10, 6x6), or "" where the frame is not checked."""
    for member in doc.get("frame", {}).get("members", []):
        if member["kind"] == kind and "beam" + f"{member['beam']}" == beam:
            return member["say"]["slots"].get("size", "")
    return ""


def plies_of(doc, beam):
    """How many boards a beam is made of."""
    size = size_said(doc, beam, "beam-span")
    end = tokens.digits_end(size, 0)
    if end > 0 and size[end : end + 1] == "-":
        return tokens.digits_value(size[0:end])
    return PLIES


def post_sizes(doc, beam):
    """Nominal sides of a beam's posts, inches, each once."""
    size = size_said(doc, beam, "post")
    end = tokens.digits_end(size, 0)
    last = tokens.digits_end(size, end + 1)
    if end == 0 or size[end : end + 1] != "x" or last == end + 1:
        return POSTS
    first = tokens.digits_value(size[0:end])
    second = tokens.digits_value(size[end + 1 : last])
    if first == second:
        return [first]
    return [first, second]
