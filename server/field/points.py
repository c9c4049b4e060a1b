"""Where every point of a yard lies, and when: nails slide, marks are set and moved, what was plumbed stays.

A view is {"yard", "shifts": [{"point", "along", "sigma"}], "born": name -> time, "of": name -> numbers of its shifts,
"off": label -> inches}. Time is counted in shifts: at time t the first t of them have been made. An unknown is a
nail, wall mark or flag (its name), the error of a shift ("~3"), or of plumbing down ("G1-1:x", "G1-1:y").
"""

from . import square


def view(yard, shifts, born):
    """A yard with its history, every unknown at nothing."""
    of = {}
    for k in range(len(shifts)):
        name = shifts[k]["point"]
        if name not in of:
            of[name] = []
        of[name].append(k)
    return {"yard": yard, "shifts": shifts, "born": born, "of": of, "off": {}, "loose": {}}


def plan_view(yard):
    """A yard as planned."""
    return view(yard, [], {})


def label(k):
    """The unknown that a shift brings: how far its hand went wrong."""
    return f"~{k}"


def off_at(seen, t, name):
    """Inches that a nail or mark stands off its plan at a time, along its own way."""
    off = seen["off"].get(name, 0.0)
    for k in seen["of"].get(name, []):
        if k < t:
            off = off + seen["shifts"][k]["along"] + seen["off"].get(label(k), 0.0)
    return off


def now(seen):
    """The present, as a time."""
    return len(seen["shifts"])


def place(seen, t, name):
    """[x, y] of a point at a time. Raises ValueError where its strings run side by side."""
    point = seen["yard"]["points"][name]
    kind = point["kind"]
    if kind == "nail":
        off = off_at(seen, t, name)
        return [point["x"] + off * point["board"][0], point["y"] + off * point["board"][1]]
    if kind == "wall":
        if point["from"] is None:
            return [point["x"], point["y"]]
        start = place(seen, t, point["from"])
        return [start[0] + point["reading"] + off_at(seen, t, name), start[1]]
    if kind == "crossing":
        return crossing(seen, t, point["strings"][0], point["strings"][1])
    if kind == "flag":
        return flag_place(seen, t, name, point)
    under = place(seen, born_by(seen, t, name), point["under"])
    shift = point.get("offset", [0.0, 0.0])
    x = under[0] + shift[0] + seen["off"].get(name + ":x", 0.0)
    return [x, under[1] + shift[1] + seen["off"].get(name + ":y", 0.0)]


def born_by(seen, t, name):
    """When a flag was pinned or a mark plumbed down; what is not made yet hangs where it would be made now."""
    return min(t, seen["born"].get(name, t))


def flag_place(seen, t, name, point):
    """A flag is pinned where its reading ended when it was set, and keeps its distance from its string's first nail."""
    string = seen["yard"]["strings"][point["string"]]
    set_at = born_by(seen, t, name)
    run = point["reading"] + off_at(seen, t, name)
    if point.get("back", False) is True:
        run = 0.0 - run
    if point["from"] != string["from"]:
        first = place(seen, set_at, string["from"])
        start = place(seen, set_at, point["from"])
        run = run + square.length(start[0] - first[0], start[1] - first[1])
    a = place(seen, t, string["from"])
    b = place(seen, t, string["to"])
    share = run / square.length(b[0] - a[0], b[1] - a[1])
    return [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]


def crossing(seen, t, first, second):
    """Where two strings cross. Raises ValueError when they run side by side."""
    strings = seen["yard"]["strings"]
    a = place(seen, t, strings[first]["from"])
    b = place(seen, t, strings[first]["to"])
    c = place(seen, t, strings[second]["from"])
    d = place(seen, t, strings[second]["to"])
    ux = b[0] - a[0]
    uy = b[1] - a[1]
    vx = d[0] - c[0]
    vy = d[1] - c[1]
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-9:
        raise ValueError("strings do not cross")
    along = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / cross
    return [a[0] + along * ux, a[1] + along * uy]


def distance(seen, t, start, end):
    """Tape distance of two points at a time, inches."""
    a = place(seen, t, start)
    b = place(seen, t, end)
    return square.length(b[0] - a[0], b[1] - a[1])


def planned(yard, start, end):
    """Tape distance of two points on the plan, inches."""
    return distance(plan_view(yard), 0, start, end)


def unknowns(seen, t, name, found):
    """Add to the list `found` every unknown that the place of a point at a time hangs on."""
    point = seen["yard"]["points"][name]
    kind = point["kind"]
    if kind == "ground":
        unknowns(seen, born_by(seen, t, name), point["under"], found)
        add_name(found, name + ":x")
        add_name(found, name + ":y")
    elif kind == "crossing":
        string_unknowns(seen, t, point["strings"][0], found)
        string_unknowns(seen, t, point["strings"][1], found)
    else:
        if kind == "flag":
            string_unknowns(seen, t, point["string"], found)
            unknowns(seen, born_by(seen, t, name), point["from"], found)
        if kind == "wall" and point["from"] is not None:
            unknowns(seen, t, point["from"], found)
        if kind != "wall" or point["from"] is not None:
            own_unknowns(seen, t, name, found)


def own_unknowns(seen, t, name, found):
    """A nail's or mark's own: where it was set, and the error of each shift since."""
    add_name(found, name)
    for k in seen["of"].get(name, []):
        if k < t:
            add_name(found, label(k))


def add_name(found, name):
    """Add a name to a list that has each once."""
    if name not in found:
        found.append(name)


def string_unknowns(seen, t, name, found):
    """Add the unknowns of both ends of a string."""
    unknowns(seen, t, seen["yard"]["strings"][name]["from"], found)
    unknowns(seen, t, seen["yard"]["strings"][name]["to"], found)


def hangs_on(yard, name):
    """Names of the nails, wall marks and flags that the place of a point hangs on, as it would be made now."""
    found = []
    unknowns(plan_view(yard), 0, name, found)
    return [one for one in found if ":" not in one]


def direction(yard, name):
    """Unit vector along which a nail's or flag's offset grows: its board, or its reading along the string."""
    point = yard["points"][name]
    if point["kind"] == "nail":
        return point["board"]
    if point["kind"] == "wall":
        return [1.0, 0.0]
    seen = plan_view(yard)
    a = place(seen, 0, yard["strings"][point["string"]]["from"])
    b = place(seen, 0, yard["strings"][point["string"]]["to"])
    run = square.length(b[0] - a[0], b[1] - a[1])
    if point.get("back", False) is True:
        run = 0.0 - run
    return [(b[0] - a[0]) / run, (b[1] - a[1]) / run]
