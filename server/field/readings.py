"""The readings of a yard: which are believed, which speak of what stands now, what pulls are open; all weighed."""

from . import network, points, seek

LEAST = 0.0625  # a sixteenth: less is below what a tape shows


def live_readings(state):
    """Readings that are believed."""
    return [one for one in state["readings"] if one["status"] == "live"]


def same_pull(one, start_point, end_point):
    """True when a reading is of this pull, from either end."""
    if one["from"] == start_point and one["to"] == end_point:
        return True
    return one["from"] == end_point and one["to"] == start_point


def fresh_reading(doc, state, pull):
    """The newest believed reading of a pull that nothing was moved under since, or None."""
    found = any_reading(state, pull)
    if found is not None and is_stale(doc, state, found):
        return None
    return found


def any_reading(state, pull):
    """The newest believed reading of a pull, or None."""
    found = None
    for one in live_readings(state):
        if same_pull(one, pull["from"], pull["to"]):
            found = one
    return found


def is_stale(doc, state, reading):
    """True when something that a reading hangs on was moved since it was taken."""
    if reading["t"] == len(state["shifts"]):
        return False
    own = points.hangs_on(doc["yard"], reading["from"]) + points.hangs_on(doc["yard"], reading["to"])
    for k in range(reading["t"], len(state["shifts"])):
        if state["shifts"][k]["point"] in own:
            return True
    return False


def view_of(doc, state):
    """The yard with its history as the state has it."""
    seen = points.view(doc["yard"], state["shifts"], state["born"])
    seen["loose"] = state["loose"]
    seen["off"] = state["guess"]
    return seen


def weigh(doc, state, wanted):
    """Every believed reading weighed, for the points wanted too."""
    return network.adjust(view_of(doc, state), live_readings(state), wanted)


def weigh_without(doc, state, act, numbers):
    """Every believed reading weighed but these."""
    rest = [one for one in live_readings(state) if one["number"] not in numbers]
    return network.adjust(view_of(doc, state), rest, wanted_of(act))


def read_message(kept):
    """What a reading says against its target, in the tape's own step: long, short or on it."""
    off = kept["inches"] - kept["target"]
    slots = {"reading": kept["inches"], "amount": abs(off)}
    if abs(off) < LEAST / 2.0:
        return {"key": "walk.read.on", "slots": slots}
    if off > 0:
        return {"key": "walk.read.long", "slots": slots}
    return {"key": "walk.read.short", "slots": slots}


def off_plan(reading):
    """How far a reading lies off its plan, inches."""
    return abs(reading["inches"] - reading["target"])


def open_pull(doc, state, act):
    """The first pull of a check that has neither a reading that counts nor a word that it cannot be pulled, or None."""
    for pull in act["pulls"]:
        if state["cannot"].get(seek.pull_key(pull["from"], pull["to"]), "") == "":
            if is_given_up(doc, state, pull) is False:
                if act["confirm"] is True:
                    if fresh_reading(doc, state, pull) is None:
                        return pull
                elif any_reading(state, pull) is None:
                    return pull
    return None


def is_given_up(doc, state, pull):
    """True when a pull's newest reading was set aside and nothing was moved under it since: it is asked no more."""
    newest = None
    for one in state["readings"]:
        if same_pull(one, pull["from"], pull["to"]):
            newest = one
    return newest is not None and newest["status"] == "aside" and is_stale(doc, state, newest) is False


def is_still_apart(doc, state, number):
    """True while a reading that was set apart was not taken anew, and can be."""
    one = state["readings"][number]
    newest = any_reading(state, one)
    if newest is not None and newest["number"] > number:
        return False
    if one["from"] in state["gone"] or one["to"] in state["gone"]:
        return False
    return seek.is_open(state, [one["from"], one["to"]])


def is_open(doc, state, act):
    """True while a check has pulls of its own to ask."""
    return act["act"] == "check" and open_pull(doc, state, act) is not None


def fresh_pulls(doc, state):
    """Every pull that can be taken and was not, since anything it hangs on was moved."""
    taken = {}
    for one in live_readings(state):
        taken[seek.pull_key(one["from"], one["to"])] = one
    found = []
    for pull in seek.reachable(doc, state):
        one = taken.get(seek.pull_key(pull["from"], pull["to"]), None)
        if one is None or is_stale(doc, state, one):
            found.append(pull)
    return found


def is_unsure(doc, state, act):
    """True when a pull of the check could not be taken."""
    for pull in act["pulls"]:
        if any_reading(state, pull) is None:
            return True
    return False


def has_reading(state, act):
    """True when at least one pull of the check was taken."""
    for pull in act["pulls"]:
        if any_reading(state, pull) is not None:
            return True
    return False


def wanted_of(act):
    """The points whose standing a check must know."""
    if act["act"] == "seek":
        return act["marks"]
    stands = act.get("stands", "")
    if stands != "":
        return [stands]
    return act["moves"]
