"""A check: its pulls, what they say against the plan, the moves that mend it, and when it holds.

A reading speaks for the strings as they stood when it was taken; the newest reading of a pull speaks for it. All live
readings of the yard are weighed together, so a check closes on everything that is known.
"""

from . import network, square

LEAST = 0.0625  # a move below a sixteenth is below what a tape shows
CONTRADICTS = "contradicts"


def live_readings(state):
    """Readings that speak for the strings as they stand now."""
    return [one for one in state["readings"] if one["live"] is True]


def same_pull(one, start_point, end_point):
    """True when a reading is of this pull, from either end."""
    if one["from"] == start_point and one["to"] == end_point:
        return True
    return one["from"] == end_point and one["to"] == start_point


def reading_of(state, pull):
    """The live reading of a pull, or None."""
    for one in live_readings(state):
        if same_pull(one, pull["from"], pull["to"]):
            return one
    return None


def pull_key(pull):
    """A pull's name, the same from either end."""
    if pull["from"] < pull["to"]:
        return pull["from"] + " " + pull["to"]
    return pull["to"] + " " + pull["from"]


def take_reading(doc, state, entry, act, record):
    """Keep a reading (the newest of a pull speaks for it) or why it cannot be pulled; then settle the check."""
    key = pull_key(entry)
    for one in state["readings"]:
        if same_pull(one, entry["from"], entry["to"]):
            one["live"] = False
    if entry.get("cannot", "") != "":
        state["cannot"][key] = entry["cannot"]
        record["again"] = None
        settle(doc, state, act, record)
        return
    state["cannot"][key] = ""
    state["pulls"] = state["pulls"] + 1
    kept = {"from": entry["from"], "to": entry["to"], "inches": entry["inches"], "live": True}
    kept["step"] = entry["step"]
    kept["target"] = network.distance(doc["yard"], {}, entry["from"], entry["to"])
    state["readings"].append(kept)
    record["again"] = None
    record["said"] = read_message(kept)
    settle(doc, state, act, record)


def read_message(kept):
    """What a reading says against its target, in the tape's own step: long, short or on it."""
    off = kept["inches"] - kept["target"]
    slots = {"reading": kept["inches"], "amount": abs(off)}
    if abs(off) < LEAST / 2.0:
        return {"key": "walk.read.on", "slots": slots}
    if off > 0:
        return {"key": "walk.read.long", "slots": slots}
    return {"key": "walk.read.short", "slots": slots}


def open_pull(state, act):
    """The first pull of a check that has neither a live reading nor a word that it cannot be pulled, or None."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is None and state["cannot"].get(pull_key(pull), "") == "":
            return pull
    return None


def settle(doc, state, act, record):
    """Once every pull of a check is answered: question what does not fit, find the moves, or close the check."""
    record["moves"] = []
    state["last"] = record["said"]
    if open_pull(state, act) is not None:
        return
    record["unsure"] = is_unsure(state, act)
    if has_reading(state, act):
        fit = weigh(doc, state, act, record)
        find_moves(doc, fit, act, record)
        question_far_moves(doc, state, act, record)
        state["last"] = shape_message(state, act, record)
        if record["again"] is None and len(record["moves"]) == 0:
            record["done"] = True
            state["last"] = closing_message(fit, act, record, state["last"])
    else:
        record["done"] = True
        state["last"] = {"key": "walk.unchecked", "slots": {}}


def weigh(doc, state, act, record):
    """The adjustment a check rests on. What does not fit is asked for once more before anything is decided.

    A pull that was confirmed speaks louder than where a flag was set. Where the check's own pulls agree with each
    other, they speak louder than what was read before: a string was knocked since, or an earlier reading was a slip.
    Where they do not, the reading that contradicts the rest is set aside, and the check closes unsure.
    """
    yard = doc["yard"]
    readings = live_readings(state)
    fit = network.adjust(yard, readings, act["moves"], [])
    if fit["oddness"] <= network.ODD:
        return fit
    question(record, act, readings[fit["odd"]], "walk.suspect.misfit")
    if record["again"] is not None:
        return fit
    fit = network.adjust(yard, readings, act["moves"], flags_of(doc, act))
    if fit["oddness"] <= network.ODD:
        return fit
    own = [one for one in readings if is_pull_of(act, one)]
    if network.adjust(yard, own, act["moves"], [])["oddness"] <= network.ODD:
        for one in readings:
            one["live"] = is_pull_of(act, one)
        return network.adjust(yard, own, act["moves"], [])
    while fit["oddness"] > network.ODD:
        set_aside(state, act, record, live_readings(state)[fit["odd"]])
        fit = network.adjust(yard, live_readings(state), act["moves"], flags_of(doc, act))
    return fit


def set_aside(state, act, record, reading):
    """A reading that contradicts the others is kept, but weighed no more; one of its own leaves a check unsure."""
    reading["live"] = False
    if is_pull_of(act, reading):
        state["cannot"][pull_key(reading)] = CONTRADICTS
        record["unsure"] = True
        record["aside"] = reading["inches"]


def is_pull_of(act, reading):
    """True when a reading answers one of a check's own pulls."""
    for pull in act["pulls"]:
        if same_pull(reading, pull["from"], pull["to"]):
            return True
    return False


def is_unsure(state, act):
    """True when a pull of the check could not be taken."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is None:
            return True
    return False


def has_reading(state, act):
    """True when at least one pull of the check was taken."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is not None:
            return True
    return False


def flags_of(doc, act):
    """The set marks among the things a check may move."""
    return [name for name in act["moves"] if doc["yard"]["points"][name]["kind"] == "flag"]


def question(record, act, reading, why):
    """Ask for a pull of this check again, once for each way the strings have stood."""
    for pull in act["pulls"]:
        key = pull_key(pull)
        if same_pull(reading, pull["from"], pull["to"]) and key not in record["asked"]:
            record["asked"].append(key)
            slots = {"reading": reading["inches"], "target": pull["inches"]}
            record["again"] = {"from": pull["from"], "to": pull["to"], "suspect": {"key": why, "slots": slots}}


def question_far_moves(doc, state, act, record):
    """A move that the board has no room for is more likely a slip of the reading than of the nail."""
    for move in record["moves"]:
        if doc["yard"]["points"][move["point"]]["kind"] == "nail" and move["amount"] > doc["yard"]["tape"]["eye"]:
            for pull in act["pulls"]:
                kept = reading_of(state, pull)
                if record["again"] is None and kept is not None and abs(kept["inches"] - kept["target"]) >= 1.0:
                    question(record, act, kept, "walk.suspect.far")


def find_moves(doc, fit, act, record):
    """Every nail or mark of a check that stands further off than its doubt, with the move that mends it."""
    for name in act["moves"]:
        off = fit["offsets"][name]
        doubt = network.give_or_take(fit, name)
        if abs(off) > max(doubt, LEAST):
            way = direction(doc["yard"], name)
            by = [0.0 - off * way[0], 0.0 - off * way[1]]
            record["moves"].append({"point": name, "by": by, "amount": abs(off), "doubt": doubt})


def direction(yard, name):
    """Unit vector along which an unknown grows: a nail's board, a flag's string."""
    point = yard["points"][name]
    if point["kind"] == "nail":
        return point["board"]
    a = network.place(yard, {}, yard["strings"][point["string"]]["from"])
    b = network.place(yard, {}, yard["strings"][point["string"]]["to"])
    run = square.length(b[0] - a[0], b[1] - a[1])
    if point.get("back", False) is True:
        run = 0.0 - run
    return [(b[0] - a[0]) / run, (b[1] - a[1]) / run]


def closing_message(fit, act, record, said):
    """What a closed check says: holds, or leave it with what the tape cannot see."""
    if record["aside"] > 0:
        return {"key": "walk.aside", "slots": {"reading": record["aside"]}}
    if record["unsure"]:
        return {"key": "walk.unsure", "slots": {}}
    if len(act["moves"]) == 0:
        return said
    most = 0.0
    worst = act["moves"][0]
    for name in act["moves"]:
        if abs(fit["offsets"][name]) > most:
            most = abs(fit["offsets"][name])
            worst = name
    slots = {"off": most, "doubt": network.give_or_take(fit, worst)}
    if most < LEAST / 2.0:
        return {"key": "walk.holds", "slots": slots}
    return {"key": "walk.leave", "slots": slots}


def shape_message(state, act, record):
    """For a check of widths and diagonals: the name of the shape found; else what the last reading said."""
    shape = act.get("shape", None)
    if shape is None or is_unsure(state, act):
        return record["said"]
    far = reading_of(state, act["pulls"][0])["inches"]
    first = reading_of(state, act["pulls"][1])["inches"]
    second = reading_of(state, act["pulls"][2])["inches"]
    found = square.shape(shape["near"], far, first, second, shape["diagonal"], shape["doubt"])
    slots = {"widths": abs(far - shape["near"]), "diagonals": abs(first - second)}
    slots["target"] = shape["diagonal"]
    return {"key": "walk.shape." + found, "slots": slots}


def take_move(doc, state, entry, act, record):
    """A nail or mark was moved: what was read over it is stale; with no move left the check is pulled again."""
    state["moves"] = state["moves"] + 1
    for one in state["readings"]:
        own = []
        network.unknowns(doc["yard"], one["from"], own)
        network.unknowns(doc["yard"], one["to"], own)
        if entry["point"] in own:
            one["live"] = False
    record["moves"] = [move for move in record["moves"] if move["point"] != entry["point"]]
    record["asked"] = []
    record["aside"] = 0.0
    for pull in act["pulls"]:
        if state["cannot"].get(pull_key(pull), "") == CONTRADICTS:
            state["cannot"][pull_key(pull)] = ""
    if len(record["moves"]) == 0:
        settle(doc, state, act, record)
