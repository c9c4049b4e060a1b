"""The next pull: of every two points a tape can reach, the pair whose reading would lower the worst mark's doubt most.

Two points' reading changes the covariance by one rank; nothing has to be pulled to know what it would buy.
"""

import math

from . import network, points, solve, square

NEAR = 36.0  # inches; a shorter pull tells little and is fiddly
EXACT = 16  # pulls of which it is reckoned exactly what they buy
WORST = 4  # marks that choose these
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
    before = doubts(rows)
    least = blunt(before)
    found = None
    for pull in promising(doc, fit, pulls, rows, before):
        radii = after(fit, pull, rows)
        total = blunt(radii)
        if total < least * (1.0 - 1e-9):
            least = total
            found = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"]}
            found["before"] = max(before)
            found["after"] = max(radii)
            found["gain"] = (1.0 - total / blunt(before)) / BLUNT
    return found


def promising(doc, fit, pulls, rows, radii):
    """The pulls that promise most to first order: what they take of the variance of the worst marks."""
    worst = worst_of(rows, radii)
    table = {}
    ranked = []
    for pull in pulls:
        one = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"]}
        start = shared_with(fit, table, worst, pull["from"])
        end = shared_with(fit, table, worst, pull["to"])
        one["promise"] = promise(doc, start, end, worst)
        ranked.append(one)
    return sorted(ranked, key=by_promise)[:EXACT]


def worst_of(rows, radii):
    """The marks in most doubt, with the weight that their eighth powers give them."""
    found = []
    for k in range(len(rows)):
        one = radii[k]
        heavy = one * one * one * one * one * one
        found.append({"wx": rows[k]["wx"], "wy": rows[k]["wy"], "heavy": heavy})
    return sorted(found, key=by_weight)[:WORST]


def by_weight(one):
    """Sort key: what is most in doubt first."""
    return 0.0 - one["heavy"]


def by_promise(one):
    """Sort key: what promises most first."""
    return 0.0 - one["promise"]


def shared_with(fit, table, worst, name):
    """A point, and its covariances with the worst marks, reckoned once: {"here", "dots": [xx, xy, yx, yy] each}."""
    if name not in table:
        here = network.half(fit, points.now(fit["seen"]), name)
        found = []
        for one in worst:
            upper = [solve.dot(one["wx"], here["wx"]), solve.dot(one["wx"], here["wy"])]
            found.append([upper[0], upper[1], solve.dot(one["wy"], here["wx"]), solve.dot(one["wy"], here["wy"])])
        table[name] = {"here": here, "dots": found}
    return table[name]


def promise(doc, start, end, worst):
    """What a pull takes of the variance of the worst marks, each by its weight."""
    a = start["here"]
    b = end["here"]
    dx = b["x"] - a["x"]
    dy = b["y"] - a["y"]
    run = square.length(dx, dy)
    ux = dx / run
    uy = dy / run
    total = 0.0
    for k in range(len(worst)):
        first = start["dots"][k]
        last = end["dots"][k]
        cx = ux * (last[0] - first[0]) + uy * (last[1] - first[1])
        cy = ux * (last[2] - first[2]) + uy * (last[3] - first[3])
        total = total + worst[k]["heavy"] * (cx * cx + cy * cy)
    sigma = square.tape_sigma(run, doc["yard"]["tape"])
    return total / (sigma * sigma + variance(a, b, ux, uy))


def variance(start, end, ux, uy):
    """Variance of the distance of two points as known now, in²."""
    total = 0.0
    for i in range(len(start["wx"])):
        part = ux * (end["wx"][i] - start["wx"][i]) + uy * (end["wy"][i] - start["wy"][i])
        total = total + part * part
    return total


def after(fit, pull, rows):
    """The doubts of the marks once a pull is read."""
    half = half_row(fit, pull["from"], pull["to"])
    spread = half["sigma"] * half["sigma"] + solve.dot(half["row"], half["row"])
    radii = []
    for row in rows:
        cx = solve.dot(row["wx"], half["row"])
        cy = solve.dot(row["wy"], half["row"])
        xx = row["xx"] - cx * cx / spread
        xy = row["xy"] - cx * cy / spread
        yy = row["yy"] - cy * cy / spread
        radii.append(network.radius(0.0, 0.0, xx, xy, yy))
    return radii


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
