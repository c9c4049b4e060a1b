"""What does not fit: asked again, told apart by another pull, or believed no more. Nothing is moved before that.

The numbers below are chosen in virtual yards (tests/bench/yards.py).
"""

from . import knocks, naming, network, question, readings, seek, square

PATIENCE = 3  # times that one pull is asked again before it is set aside
MOST_TELLS = 8  # pulls asked only to tell explanations apart
UNSEEN = 1.0  # of the tolerance: a slip that nobody would see may carry a mark off by no more
DOUBTFUL_WARY = 3.5  # in place of question.DOUBTFUL once a reading was struck
UNSEEN_WARY = 0.7  # in place of UNSEEN once a reading was struck
AS_GOOD = 0.7  # of the best: a pull that shows a slip so well may be asked for what else it buys
MOST_CHECKS = 4  # pulls asked only to check what nothing else checks


def has_trouble(doc, state, act, record, fit):
    """True when a reading does not fit: it is asked again, another pull is asked that tells, or it is not believed."""
    some = question.rivals(question.suspects(fit, state["sure"]))
    if len(some) == 0:
        return False
    if is_tie_told(doc, state, act, some):
        knocks.take_knock(doc, state, record, act["stands"], [])
        return True
    if len(some) > 1:
        if readings.is_open(doc, state, act):
            return False
        if tell_pull(state, record, question.telling(fit, untold(doc, state), some)):
            return True
    if some[0]["mark"] != "" and some[0]["mark"][0] == "~":
        knocks.take_loose(doc, state, record, some[0]["mark"])
    elif len(some[0]["readings"]) > 1:
        if readings.is_open(doc, state, act):
            return False
        judge_agreed(doc, state, act, record, fit, some[0])
    else:
        ask_again(doc, state, fit, some[0], record)
    return True


def is_tie_told(doc, state, act, some):
    """True when a tied mark does not fit, and a tie read again says the same: it is the mark that was knocked."""
    stands = act.get("stands", "")
    if stands == "" or stands in state["loose"] or readings.is_open(doc, state, act):
        return False
    for one in some:
        if len(one["readings"]) > 1:
            return True
    return False


def is_probed(doc, state, record, fit):
    """True when something fits badly, but not enough to question it: a pull that would show it is asked, once."""
    ranked = question.suspects(fit, state["sure"])
    doubtful = question.DOUBTFUL
    if has_slipped(state):
        doubtful = DOUBTFUL_WARY
    if len(ranked) == 0 or ranked[0]["score"] < doubtful:
        return False
    key = ranked[0]["mark"]
    if key == "" or key[0] != "~":
        pull = question.place_of(ranked[0], fit)
        key = seek.pull_key(pull["from"], pull["to"])
    if key in state["probed"]:
        return False
    state["probed"][key] = True
    found = question.probing(fit, readings.fresh_pulls(doc, state), ranked[0], question.TELLS)
    if found is None:
        return False
    record["next"] = found
    record["next"]["why"] = {"key": "walk.why.probe", "slots": {}}
    return True


def is_checked_more(doc, state, act, record, fit, rows):
    """True when a slip in a reading could carry a mark off and nobody would see: a pull that checks it is asked.

    Of the pulls that check it nearly as well, it is the one that lowers the doubts most.
    """
    weak = question.least_checked(fit, question.suspects(fit, {}), act["marks"])
    unseen = UNSEEN
    if has_slipped(state):
        unseen = UNSEEN_WARY
    if weak["off"] <= unseen * doc["yard"]["tolerance"] or record["checks"] >= MOST_CHECKS:
        return False
    ranked = question.showing(fit, readings.fresh_pulls(doc, state), weak["one"])
    if len(ranked) == 0:
        return False
    found = seek.best(doc, fit, [one for one in ranked if one["far"] >= AS_GOOD * ranked[0]["far"]], rows)
    if found is None:
        found = ranked[0]
    record["checks"] = record["checks"] + 1
    record["next"] = found
    record["next"]["why"] = {"key": "walk.why.unchecked", "slots": {}}
    return True


def untold(doc, state):
    """Every pull in reach, but for those that were asked twice already to tell explanations apart."""
    found = []
    for pull in seek.reachable(doc, state):
        if state["told"].get(seek.pull_key(pull["from"], pull["to"]), 0) < 2:
            found.append(pull)
    return found


def has_slipped(state):
    """True once a reading was struck: who slipped once may have slipped unseen."""
    for one in state["readings"]:
        if one["status"] == "struck" or one["status"] == "aside":
            return True
    return False


def tell_pull(state, record, found):
    """True when a pull was found that tells explanations apart: it is asked next."""
    if found is None or state["tells"] >= MOST_TELLS:
        return False
    key = seek.pull_key(found["from"], found["to"])
    state["told"][key] = state["told"].get(key, 0) + 1
    state["tells"] = state["tells"] + 1
    record["next"] = found
    record["next"]["why"] = {"key": "walk.why.tell", "slots": {}}
    return True


def judge_agreed(doc, state, act, record, fit, one):
    """Two readings of a pull agree, and contradict the rest: a nail was knocked since, or one slip was made twice."""
    numbers = [fit["readings"][k]["number"] for k in one["readings"]]
    slip = readings.weigh_without(doc, state, act, numbers)
    chance = network.misfits(slip, slip["places"]) + question.TWICE
    found = []
    for name in knocks.knocked_by(doc, state, question.place_of(one, fit), numbers):
        knock = knocks.weigh_knocked(doc, state, act, name, numbers)
        found.append({"name": name, "fit": knock, "misfit": network.misfits(knock, knock["places"])})
    found = sorted(found, key=by_misfit)
    if len(found) > 0 and found[0]["misfit"] < chance + question.CLEAR:
        rival = slip
        if len(found) > 1 and found[1]["misfit"] < found[0]["misfit"] + question.CLEAR:
            rival = found[1]["fit"]
        if tell_pull(state, record, question.apart(rival, found[0]["fit"], untold(doc, state))):
            return
        if found[0]["misfit"] < chance:
            knocks.take_knock(doc, state, record, found[0]["name"], numbers)
            return
    for number in numbers:
        state["readings"][number]["status"] = "aside"
    record["unsure"] = True
    record["aside"] = state["readings"][numbers[0]]["inches"]


def by_misfit(one):
    """Sort key: what fits best first."""
    return one["misfit"]


def ask_again(doc, state, fit, one, record):
    """Ask for a doubted reading or mark again; a reading that was asked again and still does not fit is struck."""
    pull = question.place_of(one, fit)
    key = seek.pull_key(pull["from"], pull["to"])
    again = {"from": pull["from"], "to": pull["to"], "number": 0 - 1, "mark": one["mark"]}
    again["suspect"] = {"key": "walk.suspect.mark", "slots": {"point": doc["yard"]["points"][pull["to"]]["name"]}}
    if one["mark"] == "":
        reading = fit["readings"][one["readings"][0]]
        if reading["asked"] is True or is_taken_again(state, reading, key):
            reading["status"] = "struck"
            return
        reading["asked"] = True
        again["number"] = reading["number"]
        again["suspect"] = suspect_message(doc, reading, one)
    times = state["asked"].get(key, 0)
    if times >= PATIENCE or is_askable(state, pull) is False:
        give_up(state, again, record)
        return
    state["asked"][key] = times + 1
    record["again"] = again


def is_taken_again(state, reading, key):
    """True when a doubted reading's pull was questioned already, and read again since."""
    newest = readings.any_reading(state, reading)
    return state["asked"].get(key, 0) > 0 and newest is not None and newest["number"] > reading["number"]


def is_askable(state, pull):
    """False for a pull that cannot be taken, or whose mark is gone since the strings were down."""
    if pull["from"] in state["gone"] or pull["to"] in state["gone"]:
        return False
    return seek.is_open(state, [pull["from"], pull["to"]])


def suspect_message(doc, reading, one):
    """What a doubted reading would mean if it were right, and which slips would explain it."""
    expected = reading["inches"] - one["bias"]
    doubt = one["spread"] / seek.root_of(one["free"])
    named = naming.slips(doc, reading, expected, doubt)
    means = naming.what_it_means(doc, reading, expected)
    slots = {"reading": reading["inches"], "means": {"word": means["key"], "slots": means["slots"]}}
    words = ["slip", "other"]
    for i in range(min(len(named), 2)):
        slots[words[i]] = {"word": named[i]["key"], "slots": named[i]["slots"]}
    return {"key": "walk.suspect." + ["none", "one", "two"][min(len(named), 2)], "slots": slots}


def judge_reading(doc, state, old, kept):
    """A doubted reading was taken again: where the new one says something else and fits better, the old is struck."""
    fit = readings.weigh(doc, state, [])
    for one in question.suspects(fit, {}):
        numbers = [fit["readings"][k]["number"] for k in one["readings"]]
        if kept["number"] in numbers:
            return
        if old["number"] in numbers:
            old["status"] = "struck"
            return


def judge_mark(doc, state, mark, kept):
    """The reading a mark was set by was taken again: either it was set well, or it stands elsewhere."""
    if abs(kept["inches"] - kept["target"]) <= 5.0 * square.tape_sigma(kept["inches"], doc["yard"]["tape"]):
        state["sure"][mark] = True
    else:
        state["loose"][mark] = True


def give_up(state, again, record):
    """A doubted pull cannot be taken again: it is not believed, nor is the mark it would have proved."""
    record["unsure"] = True
    if again["number"] >= 0:
        reading = state["readings"][again["number"]]
        reading["status"] = "aside"
        record["aside"] = reading["inches"]
    else:
        state["loose"][again["mark"]] = True


def take_back(state, record):
    """A question that was not answered is put no more; what it was about is weighed anew."""
    asked = record["again"]
    record["again"] = None
    if asked is None or asked.get("apart", False) is True:
        return
    if asked["number"] >= 0:
        state["readings"][asked["number"]]["asked"] = False
    if asked["suspect"]["key"] == "walk.suspect.far":
        record["far"] = False
    else:
        key = seek.pull_key(asked["from"], asked["to"])
        state["asked"][key] = max(state["asked"].get(key, 0) - 1, 0)


def question_far_moves(doc, state, act, record):
    """A move that the board has no room for is a slip of the reading sooner than of the nail: asked again, once."""
    far = False
    for move in record["moves"]:
        if doc["yard"]["points"][move["point"]]["kind"] == "nail" and move["amount"] > doc["yard"]["tape"]["eye"]:
            far = True
    if far is False or record["far"] is True:
        return
    farthest = None
    for pull in act["pulls"]:
        kept = readings.any_reading(state, pull)
        if kept is not None and (farthest is None or readings.off_plan(kept) > readings.off_plan(farthest)):
            farthest = kept
    if farthest is not None and farthest["again"] is False:
        record["far"] = True
        record["moves"] = []
        farthest["asked"] = True
        slots = {"reading": farthest["inches"], "target": farthest["target"]}
        record["again"] = {"from": farthest["from"], "to": farthest["to"], "number": farthest["number"], "mark": ""}
        record["again"]["suspect"] = {"key": "walk.suspect.far", "slots": slots}
