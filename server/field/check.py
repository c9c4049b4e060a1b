"""A check: its pulls, what they say against the plan, the moves that mend it, and when it holds.

A reading speaks for the yard as it stood when it was taken, and goes on speaking after a move: the move is known too.
All readings still believed are weighed together, so a check closes on everything that is known. A seek has no pulls
of its own: it asks the one that buys most until every mark is sure, then the moves. The numbers below are chosen in
virtual yards (tests/bench/yards.py).
"""

from . import entries, moves, network, points, readings, seek, together, trouble, verdicts

GOAL = 0.805  # of the tolerance: the 95 % radius that ends the pulls, so that what is called true is true
GOAL_WARY = 0.76  # the same where a reading was struck: who slipped once may have slipped unseen
ENOUGH = 0.012  # a pull that lowers the doubts by a smaller share is not worth the walk
RICH = 0.029  # once every mark is sure, a pull that lowers them by so large a share is still worth it
MOST = 24  # pulls of a seek, before what the yard allows is taken
ENOUGH_READS = 8  # of one pull with nothing moved since: one more tells nothing


def take_reading(doc, state, entry, act, record):
    """Keep a reading, or why it cannot be pulled; then settle the check."""
    key = seek.pull_key(entry["from"], entry["to"])
    asked = answered(record, entry)
    if asked is None and is_read_enough(state, key):
        state["pulls"] = state["pulls"] + 1
        return
    if asked is not None:
        record["again"] = None
    record["next"] = None
    record["done"] = False
    if entry.get("cannot", "") != "":
        state["cannot"][key] = entry["cannot"]
        if entry["cannot"] == "alone":
            state["alone"] = True
        if asked is not None and asked.get("apart", False) is False:
            trouble.give_up(state, asked, record)
        settle(doc, state, act, record)
        return
    state["cannot"][key] = ""
    kept = keep_reading(doc, state, entry, asked is not None)
    record["said"] = readings.read_message(kept)
    if kept["status"] == "apart":
        record["apart"].append(kept["number"])
    elif asked is None or asked.get("apart", False) is True:
        together.read_anew(doc, state, [entry["from"], entry["to"]])
    elif asked["mark"] != "":
        trouble.judge_mark(doc, state, asked["mark"], kept)
    else:
        trouble.judge_reading(doc, state, state["readings"][asked["number"]], kept)
    settle(doc, state, act, record)


def answered(record, entry):
    """The question that a reading answers: the one asked of its pull, or None."""
    asked = record["again"]
    if asked is not None and readings.same_pull(asked, entry["from"], entry["to"]):
        return asked
    return None


def is_read_enough(state, key):
    """True for a pull that was read over and over with nothing moved since."""
    reads = state["reads"].get(key, None)
    return reads is not None and reads["t"] == len(state["shifts"]) and reads["count"] >= ENOUGH_READS


def count_read(state, key):
    """One more reading of a pull, counted since something was moved last."""
    reads = state["reads"].get(key, None)
    if reads is None or reads["t"] != len(state["shifts"]):
        reads = {"t": len(state["shifts"]), "count": 0}
    state["reads"][key] = {"t": reads["t"], "count": reads["count"] + 1}


def keep_reading(doc, state, entry, again):
    """A reading as the state holds it: taken now, believed until something speaks against it."""
    state["pulls"] = state["pulls"] + 1
    count_read(state, seek.pull_key(entry["from"], entry["to"]))
    kept = {"from": entry["from"], "to": entry["to"], "inches": entry["inches"], "status": "live", "asked": False}
    kept["held"] = entry.get("held", False) is True
    kept["text"] = ""
    if isinstance(entry.get("text", None), str):
        kept["text"] = entry["text"]
    kept["again"] = again
    kept["step"] = entry["step"]
    number = entries.act_number(entry)
    kept["act"] = entry["step"] + f"/{number}"
    kept["device"] = entry["device"]
    kept["n"] = entry["n"]
    kept["why"] = together.apart_message(doc, state, entry)
    if kept["why"] is not None:
        kept["status"] = "apart"
    kept["number"] = len(state["readings"])
    kept["t"] = len(state["shifts"])
    kept["target"] = points.planned(doc["yard"], entry["from"], entry["to"])
    state["readings"].append(kept)
    return kept


def settle(doc, state, act, record):
    """What a check does next: question what does not fit, ask its pulls, find its moves, or close."""
    record["moves"] = []
    state["last"] = record["said"]
    trouble.take_back(state, record)
    if is_waiting(doc, state, act, record) or is_apart_asked(state, record):
        return
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


def is_waiting(doc, state, act, record):
    """True while a mark of a seek, or an end of a pull to be taken again, is not set: that is asked first."""
    record["waits"] = ""
    wanted = []
    if act["act"] == "seek":
        wanted = list(act["marks"])
    record["apart"] = [number for number in record["apart"] if readings.is_still_apart(doc, state, number)]
    for number in record["apart"]:
        one = state["readings"][number]
        wanted.extend(together.hanging(doc, state, [one["from"], one["to"]]))
    for name in wanted:
        if doc["yard"]["points"][name]["kind"] != "crossing" and name not in state["born"]:
            record["waits"] = name
            record["again"] = None
            record["next"] = None
            return True
    return False


def is_apart_asked(state, record):
    """True when a reading taken while another phone moved what it hangs on is asked again."""
    if len(record["apart"]) == 0:
        return False
    one = state["readings"][record["apart"][0]]
    record["again"] = {"from": one["from"], "to": one["to"], "number": one["number"], "mark": "", "apart": True}
    record["again"]["suspect"] = one["why"]
    return True


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
    """A nail or mark was moved, as it was asked, give or take a hand; with no move left the check goes on.

    Moved on two phones at once, or set on the other meanwhile, it may have gone once, twice or not at all.
    """
    state["moves"] = state["moves"] + 1
    record["done"] = False
    tape = doc["yard"]["tape"]
    shift = {"point": entry["point"], "along": 0.0, "sigma": tape["eye"]}
    if together.is_moved_twice(doc, state, entry) is False:
        way = points.direction(doc["yard"], entry["point"])
        shift["along"] = entry["by"][0] * way[0] + entry["by"][1] * way[1]
        shift["sigma"] = tape["set"]
    state["shifts"].append(shift)
    record["moves"] = [move for move in record["moves"] if move["point"] != entry["point"]]
    record["aside"] = 0.0
    state["asked"] = {}
    if len(record["moves"]) == 0:
        settle(doc, state, act, record)


def take_anew(doc, state, name):
    """A point that was set before is set again, no nearer to where it was than when it was set first."""
    point = doc["yard"]["points"][name]
    if point["kind"] == "ground" or (point["kind"] == "wall" and point["from"] is None):
        return
    sigma = 1.5 * network.prior_sigma(readings.view_of(doc, state), name)
    state["shifts"].append({"point": name, "along": 0.0, "sigma": sigma})
