"""The next pull: of every two points a tape can reach, the pair whose reading would lower the worst mark's doubt most.

Two points' reading changes the covariance by one rank; nothing has to be pulled to know what it would buy.
"""

import math

from . import network, points, solve, square

NEAR = 36.0  # inches; a shorter pull tells little and is fiddly
EXACT = 32  # pulls of which it is reckoned exactly what they buy
BLUNT = 8.0  # the power in which doubts are added: the worst counts most, the next ones still


def reachable(doc, state):
    """Every [from, to] that can be pulled now: both points made, within the tape, not said to be blocked.

    The end to hold is a wall mark or a nail where there is one; one person alone pulls only from these.
    """
    yard = doc["yard"]
    made = [name for name in sorted(yard["points"].keys()) if is_made(yard, state, name)]
    alone = doc["job"]["crew"] == 1 or state["alone"] is True
    spots = {}
    seen = points.plan_view(yard)
    for name in made:
        spots[name] = points.place(seen, 0, name)
    found = []
    for i in range(len(made)):
        for j in range(i + 1, len(made)):
            pair = held_first(yard, made[i], made[j])
            if alone is False or is_hook(yard, pair[0]):
                a = spots[pair[0]]
                b = spots[pair[1]]
                run = square.length(b[0] - a[0], b[1] - a[1])
                if run >= NEAR and run <= yard["tape"]["length"] and is_open(state, pair):
                    found.append({"from": pair[0], "to": pair[1], "inches": run})
    return found


def is_open(state, pair):
    """False for a pull that somebody said cannot be taken."""
    return state["cannot"].get(pull_key(pair[0], pair[1]), "") == ""


def pull_key(start, end):
    """A pull's name, the same from either end."""
    if start < end:
        return start + " " + end
    return end + " " + start


def held_first(yard, one, other):
    """Two points, the one a tape hooks on first."""
    if is_hook(yard, other) and is_hook(yard, one) is False:
        return [other, one]
    return [one, other]


def is_hook(yard, name):
    """True for what holds a tape's end by itself: the nail of a mark on the wall."""
    return yard["points"][name]["kind"] == "wall"


def is_made(yard, state, name):
    """True once a point can be pulled to: set, or crossed by two strings that hang on set nails.

    A nail on a board holds a line, not a place along it: no tape is pulled to it.
    """
    point = yard["points"][name]
    kind = point["kind"]
    if kind == "nail" or point.get("after", "") != "" or name in state["gone"]:
        return False
    if kind == "crossing":
        return is_hung(yard, state, point["strings"][0]) and is_hung(yard, state, point["strings"][1])
    return name in state["born"]


def is_hung(yard, state, string):
    """True once both ends of a string are set."""
    ends = yard["strings"][string]
    return ends["from"] in state["born"] and ends["to"] in state["born"]


def grams(fit, marks, extra):
    """What the doubts of marks hang on: [{"name", "wx", "wy", "xx", "xy", "yy"}], `extra` in² each way added."""
    found = []
    for name in marks:
        here = network.half(fit, points.now(fit["seen"]), name)
        row = {"name": name, "wx": here["wx"], "wy": here["wy"]}
        row["xx"] = solve.dot(here["wx"], here["wx"]) + extra
        row["yy"] = solve.dot(here["wy"], here["wy"]) + extra
        row["xy"] = solve.dot(here["wx"], here["wy"])
        found.append(row)
    return found


def doubts(rows):
    """The 95 % radius of each mark, once every estimate is moved away."""
    return [network.radius(0.0, 0.0, row["xx"], row["xy"], row["yy"]) for row in rows]


def blunt(radii):
    """One number for many doubts: the worst counts most."""
    total = 0.0
    for one in radii:
        square_of = one * one
        fourth = square_of * square_of
        total = total + fourth * fourth
    return total


def best(doc, fit, pulls, rows):
    """The pull that lowers the doubts most: {"from", "to", "inches", "before", "after": the worst radius}, or None."""
    table = dots(fit, pulls, rows)
    before = doubts(rows)
    least = blunt(before)
    found = None
    for pull in promising(doc, table, pulls, rows, before):
        radii = after(doc, table, pull, rows)
        total = blunt(radii)
        if total < least * (1.0 - 1e-9):
            least = total
            found = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"]}
            found["before"] = max(before)
            found["after"] = max(radii)
            found["gain"] = (1.0 - total / blunt(before)) / BLUNT
    return found


def promising(doc, table, pulls, rows, radii):
    """The pulls that promise most to first order: what they take of each mark's variance, the worst counting most."""
    heavy = [one * one * one * one * one * one for one in radii]
    ranked = []
    for pull in pulls:
        shared = sharing(doc, table, pull)
        total = 0.0
        for k in range(len(rows)):
            c = taken(shared, k)
            total = total + heavy[k] * (c[0] * c[0] + c[1] * c[1])
        one = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"]}
        one["promise"] = total / shared["spread"]
        ranked.append(one)
    return sorted(ranked, key=by_promise)[:EXACT]


def by_promise(one):
    """Sort key: what promises most first."""
    return 0.0 - one["promise"]


def dots(fit, pulls, rows):
    """Covariances of the ends of pulls with each other and with marks, each reckoned once."""
    table = {"ends": {}, "own": {}, "marks": {}}
    for pull in pulls:
        for name in [pull["from"], pull["to"]]:
            if name not in table["ends"]:
                here = network.half(fit, points.now(fit["seen"]), name)
                table["ends"][name] = here
                own = []
                for row in rows:
                    crossed = {"xx": solve.dot(row["wx"], here["wx"]), "xy": solve.dot(row["wx"], here["wy"])}
                    crossed["yx"] = solve.dot(row["wy"], here["wx"])
                    crossed["yy"] = solve.dot(row["wy"], here["wy"])
                    own.append(crossed)
                table["marks"][name] = own
    return table


def sharing(doc, table, pull):
    """A pull as the doubts need it: {"ux", "uy": its way, "spread": variance of its reading, "first", "last": dots}."""
    start = table["ends"][pull["from"]]
    end = table["ends"][pull["to"]]
    dx = end["x"] - start["x"]
    dy = end["y"] - start["y"]
    run = square.length(dx, dy)
    sigma = square.tape_sigma(run, doc["yard"]["tape"])
    found = {"ux": dx / run, "uy": dy / run, "first": table["marks"][pull["from"]], "last": table["marks"][pull["to"]]}
    found["spread"] = sigma * sigma + variance(start, end, found["ux"], found["uy"])
    return found


def taken(shared, k):
    """Covariance of a pull's reading with where mark k lies, [along, out]."""
    first = shared["first"][k]
    last = shared["last"][k]
    ux = shared["ux"]
    uy = shared["uy"]
    along = ux * (last["xx"] - first["xx"]) + uy * (last["xy"] - first["xy"])
    return [along, ux * (last["yx"] - first["yx"]) + uy * (last["yy"] - first["yy"])]


def after(doc, table, pull, rows):
    """The doubts of the marks once a pull is read."""
    shared = sharing(doc, table, pull)
    radii = []
    for k in range(len(rows)):
        row = rows[k]
        c = taken(shared, k)
        xx = row["xx"] - c[0] * c[0] / shared["spread"]
        xy = row["xy"] - c[0] * c[1] / shared["spread"]
        yy = row["yy"] - c[1] * c[1] / shared["spread"]
        radii.append(network.radius(0.0, 0.0, xx, xy, yy))
    return radii


def variance(start, end, ux, uy):
    """Variance of the distance of two points as known now, in²."""
    total = 0.0
    for i in range(len(start["wx"])):
        part = ux * (end["wx"][i] - start["wx"][i]) + uy * (end["wy"][i] - start["wy"][i])
        total = total + part * part
    return total


def half_row(fit, start, end):
    """A pull's row solved half-way, as it would be read now: {"row", "sigma", "inches"}."""
    t = points.now(fit["seen"])
    a = network.half(fit, t, start)
    b = network.half(fit, t, end)
    run = square.length(b["x"] - a["x"], b["y"] - a["y"])
    ux = (b["x"] - a["x"]) / run
    uy = (b["y"] - a["y"]) / run
    row = [ux * (b["wx"][i] - a["wx"][i]) + uy * (b["wy"][i] - a["wy"][i]) for i in range(len(a["wx"]))]
    return {"row": row, "sigma": square.tape_sigma(run, fit["seen"]["yard"]["tape"]), "inches": run}


def root_of(value):
    """A square root that takes a little below nothing for nothing."""
    return math.sqrt(max(value, 0.0))
