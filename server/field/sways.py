"""How a point's place changes with each unknown, by the chain rule: crossings from strings, flags from both.

A sway is {"x", "y", "along": [n], "out": [n]}: where a point lies, and how that grows with each unknown of an index.
`known` holds the sways already reckoned at these offsets, by time and name.
"""

from . import points, square


def sway(seen, t, index, known, name):
    """The sway of a point at a time. Raises ValueError where its strings run side by side."""
    key = f"{t} " + name
    if key not in known:
        known[key] = reckon(seen, t, index, known, name)
    return known[key]


def reckon(seen, t, index, known, name):
    """A sway, by the kind of its point."""
    point = seen["yard"]["points"][name]
    kind = point["kind"]
    if kind == "crossing":
        return crossing(seen, t, index, known, point)
    if kind == "flag":
        return flag(seen, t, index, known, name, point)
    if kind == "ground":
        return ground(seen, t, index, known, name, point)
    here = points.place(seen, t, name)
    found = still(here[0], here[1], len(index))
    if kind == "nail":
        own(seen, t, index, found, name, point["board"])
    elif point["from"] is not None:
        start = sway(seen, t, index, known, point["from"])
        found["along"] = list(start["along"])
        own(seen, t, index, found, name, [1.0, 0.0])
    return found


def still(x, y, n):
    """A point that nothing sways yet."""
    return {"x": x, "y": y, "along": [0.0 for _ in range(n)], "out": [0.0 for _ in range(n)]}


def own(seen, t, index, found, name, way):
    """Add what a nail's or mark's own unknowns do: its setting, and each shift until then."""
    add(index, found, name, way)
    for k in seen["of"].get(name, []):
        if k < t:
            add(index, found, points.label(k), way)


def add(index, found, name, way):
    """Add one unknown that moves a point along a way; one that nobody asks about is left out."""
    if name in index:
        found["along"][index[name]] = found["along"][index[name]] + way[0]
        found["out"][index[name]] = found["out"][index[name]] + way[1]


def ground(seen, t, index, known, name, point):
    """A mark on the ground goes with what it hung under when it was plumbed, and by the error of plumbing."""
    under = sway(seen, points.born_by(seen, t, name), index, known, point["under"])
    here = points.place(seen, t, name)
    found = {"x": here[0], "y": here[1], "along": list(under["along"]), "out": list(under["out"])}
    add(index, found, name + ":x", [1.0, 0.0])
    add(index, found, name + ":y", [0.0, 1.0])
    return found


def crossing(seen, t, index, known, point):
    """Where two strings cross: each end carries the crossing by its share, and along the other string.

    With P = a + s·u = c + r·v, u = b - a, v = d - c: A = (1-s)·da + s·db and B = (1-r)·dc + r·dd are how the two lines
    move at P, and dP = A + u·((B - A) × v) / (u × v).
    """
    strings = seen["yard"]["strings"]
    first = strings[point["strings"][0]]
    second = strings[point["strings"][1]]
    a = sway(seen, t, index, known, first["from"])
    b = sway(seen, t, index, known, first["to"])
    c = sway(seen, t, index, known, second["from"])
    d = sway(seen, t, index, known, second["to"])
    ux = b["x"] - a["x"]
    uy = b["y"] - a["y"]
    vx = d["x"] - c["x"]
    vy = d["y"] - c["y"]
    turn = ux * vy - uy * vx
    if abs(turn) < 1e-9:
        raise ValueError("strings do not cross")
    s = ((c["x"] - a["x"]) * vy - (c["y"] - a["y"]) * vx) / turn
    r = ((c["x"] - a["x"]) * uy - (c["y"] - a["y"]) * ux) / turn
    found = still(a["x"] + s * ux, a["y"] + s * uy, len(index))
    for i in range(len(index)):
        ax = (1.0 - s) * a["along"][i] + s * b["along"][i]
        ay = (1.0 - s) * a["out"][i] + s * b["out"][i]
        bx = (1.0 - r) * c["along"][i] + r * d["along"][i]
        by = (1.0 - r) * c["out"][i] + r * d["out"][i]
        slide = ((bx - ax) * vy - (by - ay) * vx) / turn
        found["along"][i] = ax + ux * slide
        found["out"][i] = ay + uy * slide
    return found


def flag(seen, t, index, known, name, point):
    """A flag goes with its string's first nail, turns with the string, and runs along it by its reading.

    With P = a + run·w, w the unit vector of a string of length L: dP = da + w·d(run) + run·(dg - w·(w·dg)) / L, where
    dg = db - da.
    """
    string = seen["yard"]["strings"][point["string"]]
    a = sway(seen, t, index, known, string["from"])
    b = sway(seen, t, index, known, string["to"])
    run = run_of(seen, t, index, known, name, point, string)
    span = square.length(b["x"] - a["x"], b["y"] - a["y"])
    wx = (b["x"] - a["x"]) / span
    wy = (b["y"] - a["y"]) / span
    found = still(a["x"] + run["inches"] * wx, a["y"] + run["inches"] * wy, len(index))
    turn = run["inches"] / span
    for i in range(len(index)):
        gx = b["along"][i] - a["along"][i]
        gy = b["out"][i] - a["out"][i]
        held = wx * gx + wy * gy
        found["along"][i] = a["along"][i] + wx * run["grows"][i] + turn * (gx - wx * held)
        found["out"][i] = a["out"][i] + wy * run["grows"][i] + turn * (gy - wy * held)
    return found


def run_of(seen, t, index, known, name, point, string):
    """How far a flag is pinned from its string's first nail, and how that grows: {"inches", "grows": [n]}."""
    sign = 1.0
    if point.get("back", False) is True:
        sign = 0.0 - 1.0
    inches = sign * (point["reading"] + points.off_at(seen, t, name))
    own_part = still(0.0, 0.0, len(index))
    own(seen, t, index, own_part, name, [sign, 0.0])
    grows = own_part["along"]
    if point["from"] != string["from"]:
        set_at = points.born_by(seen, t, name)
        first = sway(seen, set_at, index, known, string["from"])
        start = sway(seen, set_at, index, known, point["from"])
        far = square.length(start["x"] - first["x"], start["y"] - first["y"])
        qx = (start["x"] - first["x"]) / far
        qy = (start["y"] - first["y"]) / far
        inches = inches + far
        for i in range(len(index)):
            along = start["along"][i] - first["along"][i]
            grows[i] = grows[i] + qx * along + qy * (start["out"][i] - first["out"][i])
    return {"inches": inches, "grows": grows}
