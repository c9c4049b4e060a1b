"""What a check says when it closes: it holds, leave it, the shape it found, where a tied mark stands."""

from . import moves, network, points, readings, square, tape


def closing_message(fit, act, record, said, units):
    """What a closed check says: holds, or leave it with what the tape cannot see."""
    if act.get("stands", "") != "":
        return stands_message(fit, act["stands"], units)
    if record["aside"] > 0:
        return {"key": "walk.aside", "slots": {"reading": record["aside"]}}
    if record["unsure"]:
        return {"key": "walk.unsure", "slots": {}}
    if len(act["moves"]) == 0:
        return said
    most = 0.0
    doubt = 0.0
    yard = fit["seen"]["yard"]
    for name in act["moves"]:
        way = points.direction(yard, name)
        off = abs(moves.off_of(yard, fit, name, way))
        if off >= most:
            most = off
            doubt = network.along_doubt(fit, name, way)
    slots = {"off": most, "doubt": doubt}
    if act.get("back", False) is True:
        return {"key": "walk.back", "slots": slots}
    if most < readings.LEAST / 2.0:
        return {"key": "walk.holds", "slots": slots}
    return {"key": "walk.leave", "slots": slots}


def stands_message(fit, name, units):
    """Where a mark stands that was tied: on its plan, or how far to which sides, and within what."""
    here = network.stand(fit, name, 0.0)
    plan = fit["seen"]["yard"]["points"][name]
    dx = here["x"] - plan["x"]
    dy = here["y"] - plan["y"]
    slots = {"point": plan["name"], "across": abs(dx), "out": abs(dy), "within": tape.at_least(here["within"], units)}
    return {"key": "walk.stands." + sides(dx, dy), "slots": slots}


def sides(dx, dy):
    """The sides to which a mark stands off, as far as the tape can tell: "left-toward", "away", "on"."""
    across = ""
    if abs(dx) >= readings.LEAST / 2.0:
        across = "right" if dx > 0 else "left"
    out = ""
    if abs(dy) >= readings.LEAST / 2.0:
        out = "away" if dy > 0 else "toward"
    if across == "" and out == "":
        return "on"
    if across == "" or out == "":
        return across + out
    return across + "-" + out


def shape_message(doc, state, act, record):
    """For a check of widths and diagonals: the name of the shape found; else what the last reading said."""
    shape = act.get("shape", None)
    if shape is None or readings.is_unsure(doc, state, act):
        return record["said"]
    far = readings.any_reading(state, act["pulls"][0])["inches"]
    first = readings.any_reading(state, act["pulls"][1])["inches"]
    second = readings.any_reading(state, act["pulls"][2])["inches"]
    found = square.shape(shape["near"], far, first, second, shape["diagonal"], shape["doubt"])
    slots = {"widths": abs(far - shape["near"]), "diagonals": abs(first - second)}
    slots["target"] = shape["diagonal"]
    return {"key": "walk.shape." + found, "slots": slots}


def buys_message(found, units):
    """What a pull buys: the worst mark's doubt before and after, where the tape can tell them apart."""
    slots = {"before": tape.at_least(found["before"], units), "after": tape.at_least(found["after"], units)}
    if slots["before"] > slots["after"]:
        return {"key": "walk.why.buys", "slots": slots}
    return {"key": "walk.why.most", "slots": slots}


def sure_message(doc, state, fit, act):
    """What a seek says when it closes: every mark is sure; or which is not, and what stands in the way."""
    units = doc["job"]["units"]
    worst = act["marks"][0]
    most = 0.0
    for name in act["marks"]:
        within = network.stand(fit, name, doc["yard"]["tape"]["set"])["within"]
        if within > most:
            most = within
            worst = name
    slots = {"within": tape.at_least(most, units), "tolerance": doc["yard"]["tolerance"]}
    slots["tape"] = doc["yard"]["tape"]["length"]
    slots["point"] = doc["yard"]["points"][worst]["name"]
    if most <= doc["yard"]["tolerance"]:
        return {"key": "walk.sure", "slots": slots}
    blocked = 0
    for key in sorted(state["cannot"].keys()):
        if state["cannot"][key] != "":
            blocked = blocked + 1
    slots["blocked"] = f"{blocked}"
    if blocked > 0:
        return {"key": "walk.unsure-marks.blocked", "slots": slots}
    return {"key": "walk.unsure-marks", "slots": slots}
