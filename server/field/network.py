"""Where the yard stands: every pull one equation on two points, every nail, set mark and move one unknown.

Least squares over all readings still believed, each speaking for the yard at the time it was taken; what is known
before: a nail by eye, a mark by the reading it was set with, a move by the hand that made it. The root of the
information gives every doubt; a move is an estimate with its sign turned.
"""

import math

from . import points, solve, square, sways

STEPS = 25  # of the adjustment, at most; three or four do
NEAR = 1e-7  # inches of change that are none
BENT = 0.001  # inches of change after which the straight equations are written anew
FAR = 0.1  # inches of change from which on a step is looked at before it is believed
SURE = 1.959964  # of a normal distribution, 95 % lie within so many standard deviations


def prior_sigma(seen, name):
    """What is known of an unknown before any pull (inches, one sigma)."""
    yard = seen["yard"]
    tape = yard["tape"]
    if name[0] == "~":
        return seen["shifts"][shift_number(name)]["sigma"]
    if ":" in name:
        if name[: len(name) - 2] in seen["loose"]:
            return tape["eye"]
        return tape["set"]
    point = yard["points"][name]
    if point["kind"] == "nail" or name in seen["loose"]:
        return tape["eye"]
    return square.length(square.tape_sigma(abs(point["reading"]), tape), tape["set"])


def shift_number(name):
    """The number in the name of a shift's unknown."""
    number = 0
    for digit in name[1:]:
        number = number * 10 + "0123456789".find(digit)
    return number


def adjust(seen, readings, wanted):
    """Least squares over readings [{"from", "to", "inches", "t"}], for their unknowns and those of the points wanted.

    The estimates take the place of seen["off"], which is where they start. {"seen", "names", "index", "root": Cholesky
    root of the information, "readings", "rows", "priors": 1/sigma² of each unknown before any pull, "known": sways and
    "places": points reckoned at the end}.
    """
    names = []
    for one in readings:
        points.unknowns(seen, one["t"], one["from"], names)
        points.unknowns(seen, one["t"], one["to"], names)
    for name in wanted:
        points.unknowns(seen, points.now(seen), name, names)
    off = {}
    for name in names:
        off[name] = seen["off"].get(name, 0.0)
    seen["off"] = off
    fit = {"seen": seen, "names": names, "index": indices(names), "readings": readings, "priors": []}
    for name in names:
        sigma = prior_sigma(seen, name)
        fit["priors"].append(1.0 / (sigma * sigma))
    largest = 1.0
    for _ in range(STEPS):
        known = {}
        if largest > BENT:
            straighten(fit, known)
        if largest > NEAR:
            largest = improve(fit, known)
    fit["known"] = {}
    fit["places"] = {}
    return fit


def indices(names):
    """The place of each name in a list without doubles: name -> index."""
    found = {}
    for i in range(len(names)):
        found[names[i]] = i
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


def weight_of(seen, reading):
    """1/sigma² of a reading."""
    sigma = square.tape_sigma(reading["inches"], seen["yard"]["tape"])
    return 1.0 / (sigma * sigma)


def straighten(fit, known):
    """Write the equations as straight ones about the offsets: "rows" and "weights" of the pulls, "root"."""
    n = len(fit["names"])
    info = solve.zeros(n, n)
    for i in range(n):
        info[i][i] = fit["priors"][i]
    fit["rows"] = []
    fit["weights"] = []
    seen = fit["seen"]
    for one in fit["readings"]:
        start = sways.sway(seen, one["t"], fit["index"], known, one["from"])
        row = pull_row(start, sways.sway(seen, one["t"], fit["index"], known, one["to"]))
        weight = weight_of(seen, one)
        fit["rows"].append(row)
        fit["weights"].append(weight)
        add_row(info, row, weight)
    fit["root"] = solve.root(info)


def add_row(info, row, weight):
    """Add one pull to the lower half of the information matrix."""
    held = [i for i in range(len(row)) if row[i] != 0.0]
    for i in held:
        share = weight * row[i]
        line = info[i]
        for j in held:
            if j <= i:
                line[j] = line[j] + share * row[j]


def improve(fit, known):
    """One step of Gauss and Newton, written into the offsets; the largest change, inches."""
    names = fit["names"]
    off = fit["seen"]["off"]
    right = [0.0 - fit["priors"][i] * off[names[i]] for i in range(len(names))]
    for k in range(len(fit["readings"])):
        share = fit["weights"][k] * misfit(fit, known, k)
        row = fit["rows"][k]
        for i in range(len(row)):
            if row[i] != 0.0:
                right[i] = right[i] + share * row[i]
    change = solve.solve(fit["root"], right)
    largest = 0.0
    for i in range(len(names)):
        largest = max(largest, abs(change[i]))
    if largest > FAR:
        step_down(fit, known, change)
    else:
        step(fit, change, 1.0)
    return largest


def step(fit, change, share):
    """Take a share of a change into the offsets."""
    off = fit["seen"]["off"]
    for i in range(len(change)):
        off[fit["names"][i]] = off[fit["names"][i]] + share * change[i]


def step_down(fit, known, change):
    """Take the whole of a change, or the half, or the quarter ...: the first that makes the misfits smaller.

    Where hardly a pull holds a string the straight equations promise too much, and whole steps would swing for ever.
    """
    before = misfits(fit, known)
    share = 1.0
    step(fit, change, share)
    while share > 0.001 and misfits(fit, {}) > before:
        share = 0.5 * share
        step(fit, change, 0.0 - share)


def misfits(fit, known):
    """Chi-square of the offsets as they are: of the readings, and of what was known before."""
    total = 0.0
    for k in range(len(fit["readings"])):
        miss = misfit(fit, known, k)
        total = total + miss * miss * fit["weights"][k]
    for i in range(len(fit["names"])):
        off = fit["seen"]["off"][fit["names"][i]]
        total = total + off * off * fit["priors"][i]
    return total


def misfit(fit, known, k):
    """What a reading has over the distance it was taken of, inches."""
    one = fit["readings"][k]
    a = spot(fit["seen"], known, one["t"], one["from"])
    b = spot(fit["seen"], known, one["t"], one["to"])
    return one["inches"] - square.length(b["x"] - a["x"], b["y"] - a["y"])


def spot(seen, known, t, name):
    """Where a point is, {"x", "y"}, reckoned once for each point and time; `known` holds those at these offsets."""
    key = f"{t} " + name
    if key not in known:
        here = points.place(seen, t, name)
        known[key] = {"x": here[0], "y": here[1]}
    return known[key]


def half(fit, t, name):
    """A point as the doubts need it: {"x", "y", "wx", "wy"}; dots of wx and wy are covariances."""
    here = sways.sway(fit["seen"], t, fit["index"], fit["known"], name)
    if "wx" not in here:
        here["wx"] = solve.forward(fit["root"], here["along"])
        here["wy"] = solve.forward(fit["root"], here["out"])
    return here


def along_doubt(fit, name, way):
    """The 95 % doubt of where a point stands now, along a unit vector, inches."""
    here = half(fit, points.now(fit["seen"]), name)
    part = [way[0] * here["wx"][i] + way[1] * here["wy"][i] for i in range(len(here["wx"]))]
    return SURE * math.sqrt(solve.dot(part, part))


def stand(fit, name, spread):
    """Where a point stands now: {"x", "y", "within", "xx", "xy", "yy"} (covariance, in²).

    `spread` is a further sigma both ways (plumbing down, driving); `within` the 95 % radius about the plan's place,
    what is left unmoved included.
    """
    here = half(fit, points.now(fit["seen"]), name)
    xx = solve.dot(here["wx"], here["wx"]) + spread * spread
    yy = solve.dot(here["wy"], here["wy"]) + spread * spread
    xy = solve.dot(here["wx"], here["wy"])
    plan = fit["seen"]["yard"]["points"][name]
    within = radius(here["x"] - plan["x"], here["y"] - plan["y"], xx, xy, yy)
    return {"x": here["x"], "y": here["y"], "within": within, "xx": xx, "xy": xy, "yy": yy}


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
