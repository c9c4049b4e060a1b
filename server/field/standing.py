"""How true the yard is: where every corner, mark and anchor stands, within what, and whether all marks are inside."""

from . import network, readings, seek, together


def truth(doc, state, way):
    """How true the yard is: every point's place and 95 % radius, every footing mark's, and whether all are inside."""
    yard = doc["yard"]
    names = [name for name in sorted(yard["points"].keys()) if is_there(yard, state, name)]
    fit = readings.weigh(doc, state, names)
    where = {}
    marks = []
    anchors = []
    corners = []
    staked = []
    all_true = True
    for name in names:
        mark = state["marks"].get(name, None)
        here = network.stand(fit, name, 0.0)
        if mark is not None and mark["off"] is not None:
            here = stands_off(yard["points"][name], here, mark["off"])
        if mark is not None:
            here = farthest(yard["points"][name], network.stand(fit, name, 0.0), here, state["stakes"].get(name, []))
        doubt = network.radius(0.0, 0.0, here["xx"], here["xy"], here["yy"])
        where[name] = {"x": here["x"], "y": here["y"], "within": here["within"], "doubt": doubt}
        kind = yard["points"][name]["kind"]
        if kind == "crossing" and seek.is_made(yard, state, name):
            corners.append(name)
        if kind == "ground" and yard["points"][name].get("after", "") != "":
            anchors.append({"point": name, "within": here["within"]})
        elif kind == "ground":
            row = mark_row(name, here, mark)
            if row["staked"] is True and together.is_staked_once(state, name) is False:
                row["state"] = "twice"
            marks.append(row)
            if row["staked"] is True:
                staked.append(name)
            if row["staked"] is False or row["state"] == "twice" or here["within"] > yard["tolerance"]:
                all_true = False
    return {
        "true": all_true,
        "way": way,
        "pulls": state["pulls"],
        "moves": state["moves"],
        "staked": staked,
        "points": where,
        "corners": corners,
        "marks": marks,
        "anchors": anchors,
        "together": together.news(doc, state),
    }


def is_there(yard, state, name):
    """True for every point of the walk; for what comes after it, once it is set."""
    return yard["points"][name].get("after", "") == "" or name in state["born"]


def stands_off(plan, here, off):
    """Where a mark stands that was staked off by so much: `network.stand` with its place moved."""
    x = here["x"] + off[0]
    y = here["y"] + off[1]
    within = network.radius(x - plan["x"], y - plan["y"], here["xx"], here["xy"], here["yy"])
    return {"x": x, "y": y, "within": within, "xx": here["xx"], "xy": here["xy"], "yy": here["yy"]}


def farthest(plan, marked, here, stakes):
    """Where a mark stands whose stakes may be more than one: no nearer to its plan than the farthest of them."""
    if len(stakes) < 2:
        return here
    within = here["within"]
    for one in stakes:
        off = one["off"]
        if off is None:
            off = [0.0, 0.0]
        within = max(within, stands_off(plan, marked, off)["within"])
    return {"x": here["x"], "y": here["y"], "within": within, "xx": here["xx"], "xy": here["xy"], "yy": here["yy"]}


def mark_row(name, here, mark):
    """One footing mark for the table of truth; a mark staked off carries where it stands."""
    row = {"point": name, "within": here["within"], "staked": False, "off": None, "state": "open"}
    if mark is not None and mark["staked"] is True:
        row["staked"] = True
        row["state"] = "staked"
        if mark["off"] is not None:
            row["off"] = mark["off"]
            row["state"] = "off"
    return row
