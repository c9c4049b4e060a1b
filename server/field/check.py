"""A check: its pulls, what they say against the plan, the moves that mend it, and when it holds.

A reading speaks for the yard as it stood when it was taken, and goes on speaking after a move: the move is known too.
All readings still believed are weighed together, so a check closes on everything that is known. A seek has no pulls
of its own: it asks the one that buys most until every mark is sure, then the moves. The numbers below are chosen in
virtual yards (tests/bench/yards.py).
"""

from . import moves, points, readings, seek, trouble, verdicts

GOAL = 0.805  # of the tolerance: the 95 % radius that ends the pulls, so that what is called true is true
GOAL_WARY = 0.76  # the same where a reading was struck: who slipped once may have slipped unseen
ENOUGH = 0.012  # a pull that lowers the doubts by a smaller share is not worth the walk
RICH = 0.029  # once every mark is sure, a pull that lowers them by so large a share is still worth it
MOST = 24  # pulls of a seek, before what the yard allows is taken


def take_reading(doc, state, entry, act, record):
    """Keep a reading, or why it cannot be pulled; then settle the check."""
    key = seek.pull_key(entry["from"], entry["to"])
    asked = record["again"]
    record["again"] = None
    record["next"] = None
    if entry.get("cannot", "") != "":
        state["cannot"][key] = entry["cannot"]
        if entry["cannot"] == "alone":
            state["alone"] = True
        if asked is not None:
            trouble.give_up(state, asked, record)
        settle(doc, state, act, record)
        return
    state["cannot"][key] = ""
    kept = keep_reading(doc, state, entry, asked is not None)
    record["said"] = readings.read_message(kept)
    if asked is not None and asked["mark"] != "":
        trouble.judge_mark(doc, state, asked["mark"], kept)
    elif asked is not None:
        trouble.judge_reading(doc, state, state["readings"][asked["number"]], kept)
    settle(doc, state, act, record)


def keep_reading(doc, state, entry, again):
    """A reading as the state holds it: taken now, believed until something speaks against it."""
    state["pulls"] = state["pulls"] + 1
    kept = {"from": entry["from"], "to": entry["to"], "inches": entry["inches"], "status": "live", "asked": False}
    kept["held"] = entry.get("held", False)
    kept["text"] = entry.get("text", "")
    kept["again"] = again
    kept["step"] = entry["step"]
    kept["number"] = len(state["readings"])
    kept["t"] = len(state["shifts"])
    kept["target"] = points.planned(doc["yard"], entry["from"], entry["to"])
    state["readings"].append(kept)
    return kept


def settle(doc, state, act, record):
    """What a check does next: question what does not fit, ask its pulls, find its moves, or close."""
    record["moves"] = []
    state["last"] = record["said"]
    fit = readings.weigh(doc, state, readings.wanted_of(act))
    while trouble.has_trouble(doc, state, act, record, fit):
        if record["again"] is not None or record["next"] is not None:
            return
        fit = readings.weigh(doc, state, readings.wanted_of(act))
    state["guess"] = fit["seen"]["off"]
    if act["act"] == "seek":
        if trouble.is_probed(doc, state, record, fit) is False:
            settle_seek(doc, state, act, record, fit)
        return
    if readings.open_pull(doc, state, act) is not None:
        return
    record["unsure"] = readings.is_unsure(doc, state, act)
    if readings.has_reading(state, act) is False:
        record["done"] = True
        state["last"] = {"key": "walk.unchecked", "slots": {}}
        return
    moves.find_moves(doc, fit, act, record)
    trouble.question_far_moves(doc, state, act, record)
    if record["again"] is not None:
        return
    state["last"] = verdicts.shape_message(doc, state, act, record)
    if len(record["moves"]) == 0:
        record["done"] = True
        state["last"] = verdicts.closing_message(fit, act, record, state["last"], doc["job"]["units"])


def settle_seek(doc, state, act, record, fit):
    """Ask the pull that buys most until every mark is sure enough, then the moves, then close."""
    tolerance = doc["yard"]["tolerance"]
    hand = doc["yard"]["tape"]["set"]
    rows = seek.grams(fit, act["marks"], 2.0 * hand * hand)  # plumbing down, and a move still to come
    goal = GOAL
    if trouble.has_slipped(state):
        goal = GOAL_WARY
    if record["count"] < MOST:
        found = seek.best(doc, fit, readings.fresh_pulls(doc, state), rows)
        worth = RICH
        if max(seek.doubts(rows)) > goal * tolerance:
            worth = ENOUGH
        if found is not None and found["gain"] > worth:
            record["count"] = record["count"] + 1
            record["next"] = found
            record["next"]["why"] = verdicts.buys_message(found, doc["job"]["units"])
            return
    if trouble.is_checked_more(doc, state, act, record, fit, rows):
        return
    if record["rounds"] < 3:
        moves.seek_moves(doc, fit, act, record)
        if len(record["moves"]) > 0:
            record["rounds"] = record["rounds"] + 1
            return
    record["done"] = True
    state["last"] = verdicts.sure_message(doc, state, fit, act)
    record["unsure"] = state["last"]["key"] != "walk.sure"
    record["short"] = state["last"]


def take_move(doc, state, entry, act, record):
    """A nail or mark was moved, as it was asked, give or take a hand; with no move left the check goes on."""
    state["moves"] = state["moves"] + 1
    way = points.direction(doc["yard"], entry["point"])
    along = entry["by"][0] * way[0] + entry["by"][1] * way[1]
    state["shifts"].append({"point": entry["point"], "along": along, "sigma": doc["yard"]["tape"]["set"]})
    record["moves"] = [move for move in record["moves"] if move["point"] != entry["point"]]
    record["aside"] = 0.0
    state["asked"] = {}
    if len(record["moves"]) == 0:
        settle(doc, state, act, record)
