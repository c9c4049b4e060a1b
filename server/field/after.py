"""After digging or pouring: strings go back on their kerfs, marks are looked at again.

What comes after is begun by an entry, as often as it is needed: "strings" (re-string, see whether they are back, set
and tie the anchors) or "marks" (tie every mark that is staked).
"""

RESTRUNG = 0.125  # inches, one sigma: a string back on its nail or kerf (common practice, no source)
KINDS = ["strings", "marks"]


def begin(doc, state, what):
    """Open the steps of one kind anew."""
    state["after"][what] = state["after"].get(what, 0) + 1
    for step in doc["steps"]:
        if step.get("after", "") == what:
            for i in range(len(step["acts"])):
                state["acts"][step["id"] + f"/{i}"] = blank()
    state["asked"] = {}
    state["cannot"] = {}
    state["told"] = {}
    state["knocked"] = []
    state["tells"] = 0
    if what == "strings":
        restring(doc, state)
    if what == "marks":
        look_anew(doc, state)


def restring(doc, state):
    """Every string was off and is on again: its nails may stand a little elsewhere, what hung on it is gone."""
    names = doc["yard"]["points"]
    for name in sorted(names.keys()):
        if names[name]["kind"] == "nail" and name in state["born"]:
            state["shifts"].append({"point": name, "along": 0.0, "sigma": RESTRUNG, "back": True})
        if names[name]["kind"] == "flag" and names[name].get("after", "") == "":
            state["gone"][name] = True
    born = {}
    for name in sorted(state["born"].keys()):
        if names[name].get("after", "") == "":
            born[name] = state["born"][name]
    state["born"] = born
    for one in state["readings"]:
        if is_gone(names, one["from"]) or is_gone(names, one["to"]):
            one["status"] = "past"


def look_anew(doc, state):
    """What earlier ties said of marks on the ground counts no more: they may have been knocked since."""
    names = doc["yard"]["points"]
    for one in state["readings"]:
        if names[one["from"]]["kind"] == "ground" or names[one["to"]]["kind"] == "ground":
            one["status"] = "past"


def is_gone(names, name):
    """True for a mark of an earlier round of re-stringing."""
    return names[name].get("after", "") != ""


def is_begun(state, step):
    """True for a step of the walk itself, and for one that comes after once it was begun."""
    after = step.get("after", "")
    return after == "" or state["after"].get(after, 0) > 0


def blank():
    """What is held of an act before it is begun."""
    return {
        "done": False, "unsure": False, "moves": [], "again": None, "next": None, "said": None, "aside": 0.0,
        "count": 0, "rounds": 0, "far": False, "checks": 0, "short": None, "apart": [], "waits": "",
    }
