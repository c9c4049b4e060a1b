"""What was knocked: a nail, a mark on the ground or a string put back, from some reading on, nobody knows how far."""

from . import network, points, readings


def take_loose(doc, state, record, name):
    """A string that was put back does not stand where it was: from then on only pulls tell where."""
    shift = state["shifts"][network.shift_number(name)]
    kept = knock_of(doc, shift["point"])
    kept["along"] = shift["along"]
    state["shifts"][network.shift_number(name)] = kept
    record["said"] = {"key": "walk.knocked", "slots": {"point": doc["yard"]["points"][shift["point"]]["name"]}}


def knocked_by(doc, state, pull, numbers):
    """The nails and marks that may have been knocked before these readings were taken.

    None when something was moved since: then the readings would have to be told apart.
    """
    for number in numbers:
        if state["readings"][number]["t"] != len(state["shifts"]):
            return []
    names = doc["yard"]["points"]
    found = [name for name in [pull["from"], pull["to"]] if names[name]["kind"] == "ground"]
    for name in points.hangs_on(doc["yard"], pull["from"]) + points.hangs_on(doc["yard"], pull["to"]):
        if names[name]["kind"] == "nail" and name not in found:
            found.append(name)
    return [name for name in found if name not in state["knocked"]]


def weigh_knocked(doc, state, act, name, numbers):
    """Every believed reading weighed, as if a nail or mark had been knocked just before these were taken."""
    seen = readings.view_of(doc, state)
    believed = readings.live_readings(state)
    if doc["yard"]["points"][name]["kind"] == "ground":
        seen["loose"] = loosened(state, name)
        return network.adjust(seen, believed, readings.wanted_of(act))
    shifts = list(state["shifts"])
    shifts.append(knock_of(doc, name))
    seen = points.view(doc["yard"], shifts, state["born"])
    seen["loose"] = state["loose"]
    later = []
    for one in believed:
        kept = {"from": one["from"], "to": one["to"], "inches": one["inches"], "t": one["t"]}
        if one["number"] >= numbers[0] and one["t"] == len(state["shifts"]):
            kept["t"] = one["t"] + 1
        later.append(kept)
    return network.adjust(seen, later, readings.wanted_of(act))


def loosened(state, name):
    """The marks of which only pulls tell where they stand, one more among them."""
    found = {name: True}
    for one in sorted(state["loose"].keys()):
        found[one] = True
    return found


def knock_of(doc, name):
    """A nail was knocked, nobody knows how far."""
    return {"point": name, "along": 0.0, "sigma": doc["yard"]["tape"]["eye"]}


def take_knock(doc, state, record, name, numbers):
    """From these readings on a nail stands elsewhere."""
    before = len(state["shifts"])
    state["knocked"].append(name)
    record["said"] = {"key": "walk.knocked", "slots": {"point": doc["yard"]["points"][name]["name"]}}
    if doc["yard"]["points"][name]["kind"] == "ground":
        state["loose"] = loosened(state, name)
        return
    state["shifts"].append(knock_of(doc, name))
    for one in state["readings"]:
        if one["number"] >= numbers[0] and one["t"] == before:
            one["t"] = before + 1
