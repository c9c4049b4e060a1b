"""Where the yard stands: nails, wall marks and flags are the unknowns, every pull one equation on two points.

A nail slides along its board, a mark set by a reading is off along its line; corners and marks are computed from them.
`offsets` maps the name of a nail, wall mark or flag to inches off its plan. Least squares with what is known before
(by eye for a nail, the tape for a set mark) gives the offsets and their covariance; a move is an offset, sign turned.
"""

import math

from . import solve, square

STEP = 0.015625
BENT = 0.0625  # inches of change after which the straight equations are written anew
SURE = 1.959964  # of a normal distribution, 95 % lie within so many standard deviations
ODD = 3.3  # a misfit of so many (a drop of 11 in chi-square) is a slip sooner than chance: about one in a thousand


def place(yard, offsets, name):
    """[x, y] of a point with every unknown at its offset."""
    point = yard["points"][name]
    kind = point["kind"]
    if kind == "nail":
        off = offsets.get(name, 0.0)
        return [point["x"] + off * point["board"][0], point["y"] + off * point["board"][1]]
    if kind == "wall":
        if point["from"] is None:
            return [point["x"], point["y"]]
        start = place(yard, offsets, point["from"])
        return [start[0] + point["reading"] + offsets.get(name, 0.0), start[1]]
    if kind == "crossing":
        return crossing(yard, offsets, point["strings"][0], point["strings"][1])
    if kind == "flag":
        return flag_place(yard, offsets, name, point)
    under = place(yard, offsets, point["under"])
    shift = point.get("offset", [0.0, 0.0])
    return [under[0] + shift[0], under[1] + shift[1]]


def flag_place(yard, offsets, name, point):
    """A flag: so far along its string from the point its reading starts at; "back" runs against the string."""
    string = yard["strings"][point["string"]]
    a = place(yard, offsets, string["from"])
    b = place(yard, offsets, string["to"])
    start = place(yard, offsets, point["from"])
    run = point["reading"] + offsets.get(name, 0.0)
    if point.get("back", False) is True:
        run = 0.0 - run
    share = run / square.length(b[0] - a[0], b[1] - a[1])
    return [start[0] + share * (b[0] - a[0]), start[1] + share * (b[1] - a[1])]


def crossing(yard, offsets, first, second):
    """Where two strings cross. Raises ValueError when they run side by side."""
    a = place(yard, offsets, yard["strings"][first]["from"])
    b = place(yard, offsets, yard["strings"][first]["to"])
    c = place(yard, offsets, yard["strings"][second]["from"])
    d = place(yard, offsets, yard["strings"][second]["to"])
    ux = b[0] - a[0]
    uy = b[1] - a[1]
    vx = d[0] - c[0]
    vy = d[1] - c[1]
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-9:
        raise ValueError("strings do not cross")
    t = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / cross
    return [a[0] + t * ux, a[1] + t * uy]


def distance(yard, offsets, start, end):
    """Tape distance of two points, inches."""
    a = place(yard, offsets, start)
    b = place(yard, offsets, end)
    return square.length(b[0] - a[0], b[1] - a[1])


def unknowns(yard, name, found):
    """Add to the list `found` every nail, wall mark and flag that the place of a point hangs on."""
    point = yard["points"][name]
    kind = point["kind"]
    if kind == "ground":
        unknowns(yard, point["under"], found)
    elif kind == "crossing":
        string_unknowns(yard, point["strings"][0], found)
        string_unknowns(yard, point["strings"][1], found)
    else:
        if kind != "nail" and point["from"] is not None:
            unknowns(yard, point["from"], found)
        if kind == "flag":
            string_unknowns(yard, point["string"], found)
        if name not in found and (kind != "wall" or point["from"] is not None):
            found.append(name)


def string_unknowns(yard, name, found):
    """Add the unknowns of both ends of a string."""
    unknowns(yard, yard["strings"][name]["from"], found)
    unknowns(yard, yard["strings"][name]["to"], found)


def prior_sigma(yard, name):
    """What is known of an unknown before any pull: a nail by eye, a mark by the reading it was set with."""
    tape = yard["tape"]
    point = yard["points"][name]
    if point["kind"] == "nail":
        return tape["eye"]
    return square.length(square.tape_sigma(abs(point["reading"]), tape), tape["set"])


def adjust(yard, readings, wanted, loose):
    """Least squares over readings [{"from", "to", "inches"}], for the unknowns of the readings and the points wanted.

    Of the marks named in `loose` nothing is known before: the pulls alone say where they stand.

    {"names", "offsets": name -> inches, "root": Cholesky root of the information, "scale": variance factor >= 1,
    "odd": index of the reading that fits worst or -1, "oddness": its misfit in standard deviations}.
    """
    names = []
    for one in readings:
        unknowns(yard, one["from"], names)
        unknowns(yard, one["to"], names)
    for name in wanted:
        unknowns(yard, name, names)
    offsets = {}
    for name in names:
        offsets[name] = 0.0
    system = {"root": [], "rows": []}
    largest = 1.0
    for _ in range(9):
        if largest > BENT:
            system = straighten(yard, readings, names, offsets, loose)
        if largest > 1e-7:
            largest = improve(yard, readings, offsets, system)
    return judge(yard, readings, names, offsets, system)


def indices(names):
    """The place of each name in a list without doubles: name -> index."""
    found = {}
    for i in range(len(names)):
        found[names[i]] = i
    return found


def spot(yard, offsets, known, name):
    """`place`, reckoned once for each point; `known` holds those already reckoned at these offsets."""
    if name not in known:
        known[name] = place(yard, offsets, name)
    return known[name]


def sway(yard, offsets, index, known, name):
    """Where a point lies, {"x", "y"}, and how that changes with each unknown of `index`, {"along", "out"}.

    By central differences. `known` holds the points already reckoned at these offsets.
    """
    if name in known:
        return known[name]
    own = []
    unknowns(yard, name, own)
    here = place(yard, offsets, name)
    still = [0.0 for _ in range(len(index))]
    found = {"x": here[0], "y": here[1], "along": still, "out": list(still)}
    for one in own:
        kept = offsets[one]
        offsets[one] = kept + STEP
        ahead = place(yard, offsets, name)
        offsets[one] = kept - STEP
        behind = place(yard, offsets, name)
        offsets[one] = kept
        found["along"][index[one]] = (ahead[0] - behind[0]) / (2.0 * STEP)
        found["out"][index[one]] = (ahead[1] - behind[1]) / (2.0 * STEP)
    known[name] = found
    return found


def pull_row(start, end):
    """How the distance of two points changes with each unknown, from their `sway`."""
    dx = end["x"] - start["x"]
    dy = end["y"] - start["y"]
    run = square.length(dx, dy)
    row = []
    for i in range(len(start["along"])):
        change = dx * (end["along"][i] - start["along"][i]) + dy * (end["out"][i] - start["out"][i])
        row.append(change / run)
    return row


def straighten(yard, readings, names, offsets, loose):
    """The equations as straight ones about the offsets, ready to be solved.

    {"names", "loads": 1/sigma² of what is known before, "weights", "rows": of each pull, "root": of the information}.
    """
    n = len(names)
    info = solve.zeros(n, n)
    system = {"names": names, "loads": [], "weights": [], "rows": [], "root": []}
    for i in range(n):
        sigma = prior_sigma(yard, names[i])
        if names[i] in loose:
            sigma = yard["tape"]["eye"]
        info[i][i] = 1.0 / (sigma * sigma)
        system["loads"].append(info[i][i])
    index = indices(names)
    known = {}
    for one in readings:
        start = sway(yard, offsets, index, known, one["from"])
        row = pull_row(start, sway(yard, offsets, index, known, one["to"]))
        sigma = square.tape_sigma(one["inches"], yard["tape"])
        system["rows"].append(row)
        system["weights"].append(1.0 / (sigma * sigma))
        add_row(info, row, 1.0 / (sigma * sigma))
    system["root"] = solve.root(info)
    return system


def add_row(info, row, weight):
    """Add one pull to the lower half of the information matrix."""
    held = [i for i in range(len(row)) if row[i] != 0.0]
    for i in held:
        share = weight * row[i]
        line = info[i]
        for j in held:
            if j <= i:
                line[j] = line[j] + share * row[j]


def improve(yard, readings, offsets, system):
    """One step of Gauss and Newton, written into offsets; the largest change, inches."""
    names = system["names"]
    right = [0.0 - system["loads"][i] * offsets[names[i]] for i in range(len(names))]
    known = {}
    for k in range(len(readings)):
        share = system["weights"][k] * misfit(yard, offsets, known, readings[k])
        row = system["rows"][k]
        for i in range(len(row)):
            if row[i] != 0.0:
                right[i] = right[i] + share * row[i]
    change = solve.solve(system["root"], right)
    largest = 0.0
    for i in range(len(names)):
        offsets[names[i]] = offsets[names[i]] + change[i]
        largest = max(largest, abs(change[i]))
    return largest


def misfit(yard, offsets, known, one):
    """What a reading has over the distance it was taken of, inches."""
    a = spot(yard, offsets, known, one["from"])
    b = spot(yard, offsets, known, one["to"])
    return one["inches"] - square.length(b[0] - a[0], b[1] - a[1])


def judge(yard, readings, names, offsets, system):
    """How well the readings agree: the worst residual over its own standard deviation, and the variance factor."""
    odd = 0 - 1
    worst = 0.0
    square_sum = 0.0
    spare = 0.0
    known = {}
    for k in range(len(readings)):
        sigma = square.tape_sigma(readings[k]["inches"], yard["tape"])
        miss = misfit(yard, offsets, known, readings[k])
        part = solve.forward(system["root"], system["rows"][k])
        free = max(sigma * sigma - solve.dot(part, part), 0.0)
        square_sum = square_sum + miss * miss / (sigma * sigma)
        spare = spare + free / (sigma * sigma)
        if free > 0.0025 * sigma * sigma and abs(miss) / math.sqrt(free) > worst:
            worst = abs(miss) / math.sqrt(free)
            odd = k
    scale = 1.0
    if spare > 0.5:
        scale = max(1.0, square_sum / spare)
    return {"names": names, "offsets": offsets, "root": system["root"], "scale": scale, "odd": odd, "oddness": worst}


def give_or_take(fit, name):
    """The 95 % doubt of one unknown, inches."""
    row = [0.0 for _ in fit["names"]]
    for i in range(len(row)):
        if fit["names"][i] == name:
            row[i] = 1.0
    part = solve.forward(fit["root"], row)
    return SURE * math.sqrt(solve.dot(part, part) * fit["scale"])


def stand(yard, fit, name, spread):
    """Where a point stands: {"x", "y", "within", "xx", "xy", "yy"} (covariance, in²).

    `spread` is a further sigma both ways (plumbing down, driving).

    `within` is the 95 % radius about the plan's place, what is left unmoved included.
    """
    here = sway(yard, fit["offsets"], indices(fit["names"]), {}, name)
    px = solve.forward(fit["root"], here["along"])
    py = solve.forward(fit["root"], here["out"])
    xx = solve.dot(px, px) * fit["scale"] + spread * spread
    yy = solve.dot(py, py) * fit["scale"] + spread * spread
    xy = solve.dot(px, py) * fit["scale"]
    dx = here["x"] - yard["points"][name]["x"]
    dy = here["y"] - yard["points"][name]["y"]
    return {"x": here["x"], "y": here["y"], "within": radius(dx, dy, xx, xy, yy), "xx": xx, "xy": xy, "yy": yy}


def radius(dx, dy, xx, xy, yy):
    """Radius about (0, 0) that holds a normal point 95 times in 100.

    Its mean is (dx, dy), its covariance [[xx, xy], [xy, yy]]. Wilson and Hilferty's cube root of a chi-square,
    matched in mean and variance (Grubbs 1964); within 4 % of the integral (tests/test_network.py).
    """
    mean = xx + yy + dx * dx + dy * dy
    spread = 2.0 * (xx * xx + 2.0 * xy * xy + yy * yy)
    spread = spread + 4.0 * (dx * dx * xx + 2.0 * dx * dy * xy + dy * dy * yy)
    if mean <= 0.0:
        return 0.0
    v = spread / (9.0 * mean * mean)
    edge = max(1.0 - v + 1.644854 * math.sqrt(v), 0.0)
    return math.sqrt(mean * edge * edge * edge)
