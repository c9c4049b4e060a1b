"""What is asked: one act's heed, set, stake, pull or move as plain data, its sentence, its doubt and what is lit."""

from . import points, readings, tape, together


def plain_ask(kind, step_id, index, said, state):
    """An ask with nothing but its sentence; the last verdict rides along."""
    return {
        "ask": kind,
        "step": step_id,
        "act": index,
        "say": said,
        "more": None,
        "verdict": state["last"],
        "doubt": None,
        "inches": None,
        "arrow": "",
        "lit": [],
    }


def act_ask(doc, state, step, index, record):
    """The ask of one act."""
    act = step["acts"][index]
    if act["act"] == "check" or act["act"] == "seek":
        return check_ask(doc, state, step, index, record)
    ask = plain_ask(act["act"], step["id"], index, act["say"], state)
    ask["more"] = act.get("more", None)
    ask["lit"] = act["lit"]
    if act["act"] == "set":
        ask["point"] = act["point"]
        ask["inches"] = act["inches"]
        ask["doubt"] = state["doubtful"].get(act["point"], None)
    if act["act"] == "stake":
        ask["point"] = act["point"]
        mark = state["marks"].get(act["point"], None)
        if mark is not None:
            ask["within"] = mark["within"]
            within = tape.at_least(mark["within"], doc["job"]["units"])
            ask["doubt"] = {"key": "walk.within", "slots": {"within": within}}
        twice = together.staked_message(doc, state, act["point"])
        if twice is not None:
            ask["say"] = {"key": "walk.twice", "slots": twice["slots"]}
            ask["doubt"] = {"key": "walk.twice.leave", "slots": twice["slots"]}
    return ask


def check_ask(doc, state, step, index, record):
    """The ask of a check: a pull again, a move, or the next pull; None where there is nothing to pull."""
    act = step["acts"][index]
    if record["again"] is not None:
        ask = pull_ask(doc, act, step, index, record["again"], state)
        ask["ask"] = "again"
        ask["suspect"] = record["again"]["suspect"]
        ask["doubt"] = ask["suspect"]
        return ask
    if record["next"] is not None:
        ask = pull_ask(doc, act, step, index, record["next"], state)
        ask["why"] = record["next"]["why"]
        ask["doubt"] = ask["why"]
        return ask
    if len(record["moves"]) > 0:
        return move_ask(doc, step, index, record["moves"][0], state)
    wanted = readings.open_pull(doc, state, act)
    if wanted is None:
        if len(act["pulls"]) == 0:
            return None
        wanted = act["pulls"][0]  # every pull was read in another step: one more settles this one
    return pull_ask(doc, act, step, index, wanted, state)


def pull_ask(doc, act, step, index, wanted, state):
    """Ask for one tape distance."""
    names = doc["yard"]["points"]
    named = {"from": names[wanted["from"]]["name"], "to": names[wanted["to"]]["name"]}
    ask = plain_ask("pull", step["id"], index, {"key": "walk.pull", "slots": named}, state)
    ask["from"] = wanted["from"]
    ask["to"] = wanted["to"]
    ask["target"] = points.planned(doc["yard"], wanted["from"], wanted["to"])
    ask["inches"] = ask["target"]
    ask["why"] = act["say"]
    if doc["job"]["crew"] == 1:
        ask["more"] = {"key": "walk.pull.alone", "slots": {}}
    lit = "pull-" + wanted["from"] + "-" + wanted["to"]
    for pull in act["pulls"]:
        if readings.same_pull(pull, wanted["from"], wanted["to"]):
            ask["more"] = pull["more"]
            lit = "pull-" + pull["from"] + "-" + pull["to"]
    ask["lit"] = [lit, lit_point(names, wanted["from"]), lit_point(names, wanted["to"])]
    return ask


def lit_point(names, name):
    """The part of the drawing that shows a point; what is set again after digging is drawn once."""
    return "point-" + names[name].get("as", name)


def move_ask(doc, step, index, move, state):
    """Ask for one nail or mark to be moved: how much, which way, how sure."""
    arrow = arrow_of(move["by"])
    named = {"point": doc["yard"]["points"][move["point"]]["name"], "amount": move["amount"]}
    ask = plain_ask("move", step["id"], index, {"key": "walk.move." + arrow, "slots": named}, state)
    ask["point"] = move["point"]
    ask["by"] = move["by"]
    ask["inches"] = move["amount"]
    ask["arrow"] = arrow
    ask["doubt"] = {"key": "walk.doubt", "slots": {"doubt": move["doubt"]}}
    if step["acts"][index].get("confirm", False) is True:
        ask["more"] = {"key": "walk.move.more", "slots": {}}
    ask["lit"] = [lit_point(doc["yard"]["points"], move["point"])]
    return ask


def arrow_of(by):
    """The side a move goes to, seen facing the house."""
    if abs(by[0]) >= abs(by[1]):
        if by[0] > 0:
            return "right"
        return "left"
    if by[1] > 0:
        return "away"
    return "toward"
