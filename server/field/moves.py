"""The moves that mend a yard: every nail and mark that stands off its plan by more than can be left."""

from . import network, points, readings

KEEN = 0.5  # in a check with pulls of its own, a move below this part of its 95 % doubt is left
SEEN = 0.04  # once every mark is sure, a move of so much (said as a sixteenth) is worth making


def find_moves(doc, fit, act, record):
    """Every nail or mark of a check that stands further off than its doubt, with the move that mends it."""
    for name in act["moves"]:
        add_move(doc, fit, name, KEEN, readings.LEAST, record)


def seek_moves(doc, fit, act, record):
    """The nails of each string whose marks stand off it, and the marks that stand off along it."""
    for beam in act["beams"]:
        aside = 0.0
        for name in beam["flags"]:
            way = points.direction(doc["yard"], name)
            aside = max(aside, abs(off_of(doc["yard"], fit, name, [0.0 - way[1], way[0]])))
        if aside > SEEN:
            for name in beam["nails"]:
                add_move(doc, fit, name, 0.0, SEEN, record)
        for name in beam["flags"]:
            add_move(doc, fit, name, 0.0, SEEN, record)


def add_move(doc, fit, name, keen, least, record):
    """One nail or mark: the move that brings it to its plan, where that is more than can be left."""
    yard = doc["yard"]
    way = points.direction(yard, name)
    off = off_of(yard, fit, name, way)
    doubt = network.along_doubt(fit, name, way)
    if abs(off) > max(keen * doubt, least):
        by = [0.0 - off * way[0], 0.0 - off * way[1]]
        record["moves"].append({"point": name, "by": by, "amount": abs(off), "doubt": doubt})


def off_of(yard, fit, name, way):
    """How far a point stands off its plan along its own way, inches."""
    here = network.half(fit, points.now(fit["seen"]), name)
    point = yard["points"][name]
    return (here["x"] - point["x"]) * way[0] + (here["y"] - point["y"]) * way[1]
