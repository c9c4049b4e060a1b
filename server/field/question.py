"""Which reading does not fit: each reading and set mark against all the others, and the pull that would tell.

Leaving one out is a step of rank one, so no adjustment is made again: with residual v, sigma s and the variance p of
the adjusted reading, its absence lowers chi-square by v²/(s² - p), and the others say it is off by v·s²/(s² - p).
The numbers below are chosen in virtual yards (tests/bench/yards.py).
"""

from . import network, points, seek, solve

ODD = 15.0  # a drop in chi-square of so much (3.9 standard deviations) is a slip sooner than chance
DOUBTFUL = 6.0  # less than that, and yet enough to look once more before a footing is staked
CLEAR = 6.0  # one explanation is taken before another when it explains so much more
TWICE = 8.0  # the same slip made again is so much harder to believe
RARE = 3.0  # a mark is set once, with care: a pull slips sooner
TELLS = 2.5  # standard deviations between what two explanations say a pull would read
ALIKE = 2.8  # standard deviations that two readings of one pull may lie apart and still say the same


def suspects(fit, sure):
    """Readings and set marks that others bear on, the oddest first, but for the marks that are sure.

    [{"readings": indices, "mark": name or "", "drop", "score", "bias": inches, "half", "free", "spread", "miss"}];
    readings of one pull that agree stand together.
    """
    if "suspects" not in fit:
        fit["suspects"] = all_suspects(fit)
    return [one for one in fit["suspects"] if one["mark"] not in sure]


def all_suspects(fit):
    """`suspects`, reckoned once for an adjustment."""
    found = reading_suspects(fit)
    for i in range(len(fit["names"])):
        name = fit["names"][i]
        if is_set_mark(fit["seen"], name):
            row = [0.0 for _ in fit["names"]]
            row[i] = 1.0
            one = {"readings": [], "mark": name, "half": solve.forward(fit["root"], row)}
            one["spread"] = 1.0 / fit["priors"][i]
            one["miss"] = 0.0 - fit["seen"]["off"][name]
            found.append(one)
    judged = []
    for one in found:
        one["free"] = one["spread"] - solve.dot(one["half"], one["half"])
        if one["free"] > 0.01 * one["spread"]:
            one["drop"] = one["miss"] * one["miss"] / one["free"]
            if len(one["readings"]) > 1:
                one["drop"] = joint_drop(fit, one["readings"])
            one["score"] = one["drop"] - TWICE * max(len(one["readings"]) - 1, 0)
            if one["mark"] != "":
                one["score"] = one["drop"] - RARE
            one["bias"] = one["miss"] * one["spread"] / one["free"]
            judged.append(one)
    return sorted(judged, key=by_score)


def reading_suspects(fit):
    """One suspect for all readings of a pull that agree."""
    found = []
    for k in range(len(fit["readings"])):
        miss = network.misfit(fit, fit["places"], k)
        spread = 1.0 / fit["weights"][k]
        fellow = fellow_of(fit, found, k, miss)
        if fellow is None:
            part = solve.forward(fit["root"], fit["rows"][k])
            found.append({"readings": [k], "mark": "", "half": part, "spread": spread, "miss": miss})
        else:
            n = len(fellow["readings"])
            fellow["miss"] = (fellow["miss"] * n + miss) / (n + 1.0)
            fellow["spread"] = spread / (n + 1.0)
            fellow["readings"].append(k)
    return found


def joint_drop(fit, numbers):
    """What chi-square falls by without all of these readings: vᵀ·(S - H·Hᵀ)⁻¹·v, one after the other."""
    halves = []
    wholes = []
    total = 0.0
    for k in numbers:
        half = solve.forward(fit["root"], fit["rows"][k])
        spread = 1.0 / fit["weights"][k]
        left = network.misfit(fit, fit["places"], k)
        free = spread - solve.dot(half, half)
        whole = []
        for i in range(len(wholes)):
            shared = 0.0 - solve.dot(half, halves[i][0])
            for j in range(i):
                shared = shared - whole[j] * wholes[i][j]
            part = shared / halves[i][1]
            whole.append(part)
            left = left - part * halves[i][2]
            free = free - part * part
        if free > 0.001 * spread:
            pivot = seek.root_of(free)
            total = total + left * left / free
            halves.append([half, pivot, left / pivot])
            wholes.append(whole)
    return total


def fellow_of(fit, found, k, miss):
    """The suspect that says the same as a reading, or None."""
    reading = fit["readings"][k]
    for one in found:
        other = fit["readings"][one["readings"][0]]
        if seek.pull_key(other["from"], other["to"]) == seek.pull_key(reading["from"], reading["to"]):
            apart = (miss - one["miss"]) * (miss - one["miss"])
            if apart <= ALIKE * ALIKE * (one["spread"] + 1.0 / fit["weights"][k]):
                return one
    return None


def by_score(one):
    """Sort key: the oddest first."""
    return 0.0 - one["score"]


def is_set_mark(seen, name):
    """True for a mark that a reading set, on the wall or on a string, and for a string put back where it was."""
    if name[0] == "~":
        return is_back(seen["shifts"][network.shift_number(name)])
    if ":" in name:
        return False
    return seen["yard"]["points"][name]["kind"] != "nail"


def is_back(shift):
    """True for the shift of a nail whose string was off and is on again."""
    return shift.get("back", False) is True


def rivals(ranked):
    """The explanations to choose from: the oddest, and those nearly as odd; none while everything fits."""
    if len(ranked) == 0 or ranked[0]["score"] < ODD:
        return []
    return [one for one in ranked if one["score"] >= ranked[0]["score"] - CLEAR]


def telling(fit, pulls, some):
    """The pull that best tells the first explanation from the others: {"from", "to", "inches", "apart"}, or None."""
    found = None
    most = TELLS
    for pull in pulls:
        row = seek.half_row(fit, pull["from"], pull["to"])
        apart = least_apart(row, some)
        if apart > most:
            most = apart
            found = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"], "apart": apart}
    return found


def probing(fit, pulls, one, most):
    """The pull that best tells whether what is doubtful slipped at all, by more than so many deviations, or None."""
    ranked = showing(fit, pulls, one)
    if len(ranked) == 0 or ranked[0]["far"] <= most:
        return None
    return ranked[0]


def showing(fit, pulls, one):
    """Pulls, those first that best show whether what is doubtful slipped: `far` is by how many deviations."""
    slip = max(abs(one["miss"]), seek.root_of(DOUBTFUL * one["free"]))
    found = []
    for pull in pulls:
        row = seek.half_row(fit, pull["from"], pull["to"])
        spread = row["sigma"] * row["sigma"] + solve.dot(row["row"], row["row"])
        far = abs(solve.dot(row["row"], one["half"])) * slip / one["free"] / seek.root_of(spread)
        if far > 0.0:
            found.append({"from": pull["from"], "to": pull["to"], "inches": pull["inches"], "far": far})
    return sorted(found, key=by_far)


def by_far(one):
    """Sort key: what shows most first."""
    return 0.0 - one["far"]


def least_checked(fit, ranked, marks):
    """What the others check least: the suspect whose slip could stay unseen and carry a mark farthest off.

    {"one", "off": inches}; a slip is seen from 2.4 standard deviations on (DOUBTFUL).
    """
    found = {"one": None, "off": 0.0}
    t = points.now(fit["seen"])
    for name in marks:
        here = network.half(fit, t, name)
        for one in ranked:
            across = solve.dot(here["wx"], one["half"])
            out = solve.dot(here["wy"], one["half"])
            unseen = seek.root_of(DOUBTFUL / one["free"])
            off = unseen * seek.root_of(across * across + out * out)
            if off > found["off"]:
                found = {"one": one, "off": off}
    return found


def least_apart(row, some):
    """How far a pull's reading would lie apart under the first explanation and the one nearest to it."""
    first = told(row, some[0])
    least = 1e9
    for other in some[1:]:
        one = told(row, other)
        spread = max(first["spread"], one["spread"])
        least = min(least, abs(first["change"] - one["change"]) / seek.root_of(spread))
    return least


def told(row, one):
    """What a pull would read under an explanation, against the adjustment: {"change", "spread": in²}."""
    shared = solve.dot(row["row"], one["half"])
    change = 0.0 - shared * one["miss"] / one["free"]
    spread = row["sigma"] * row["sigma"] + solve.dot(row["row"], row["row"]) + shared * shared / one["free"]
    return {"change": change, "spread": spread}


def place_of(one, fit):
    """The pull to take again for an explanation: the reading's own, or the one a mark was set by."""
    if len(one["readings"]) > 0:
        reading = fit["readings"][one["readings"][0]]
        return {"from": reading["from"], "to": reading["to"]}
    point = fit["seen"]["yard"]["points"][one["mark"]]
    return {"from": point["from"], "to": one["mark"]}


def apart(slip, knock, pulls):
    """The pull that best tells a slip from a knock, from the two adjustments, or None."""
    found = None
    most = TELLS
    for pull in pulls:
        first = points.distance(slip["seen"], points.now(slip["seen"]), pull["from"], pull["to"])
        last = points.distance(knock["seen"], points.now(knock["seen"]), pull["from"], pull["to"])
        row = seek.half_row(knock, pull["from"], pull["to"])
        spread = row["sigma"] * row["sigma"] + solve.dot(row["row"], row["row"])
        far = abs(first - last) / seek.root_of(spread)
        if far > most:
            most = far
            found = {"from": pull["from"], "to": pull["to"], "inches": pull["inches"]}
    return found
