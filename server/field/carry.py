"""From one revision of a plan to the next: which points stand as before, which acts are the same, what moved.

A point stands as before when its kind, its place, its reading and all that it hangs on are as they were. What was set,
read or staked at points that stand counts on; all else stays in the book and is passed over.
"""

SAME = 0.015625  # inches: a 64th, less than any tape shows
PARTS = ["from", "string", "under"]  # names of what a point hangs on, or is read from


def taken_as(doc, entry):
    """An entry as the document's own revision has it; None where it does not carry over.

    doc["carries"]: {digest of an earlier revision: {"acts": {"step/act": "step/act"}, "points": [names], ...}}.
    """
    own = doc.get("digest", "")
    revision = entry.get("revision", own)
    if revision == own:
        return entry
    kind = entry["kind"]
    way = None
    if isinstance(revision, str):
        way = doc.get("carries", {}).get(revision, None)
    if way is None or kind == "way" or kind == "after" or kind == "note" or kind == "strike":
        return entry if way is not None else None
    for part in ["point", "from", "to"]:
        if part in entry and entry[part] not in way["points"]:
            return None
    if isinstance(entry.get("step", None), str) is False:
        return None
    found = way["acts"].get(entry["step"] + f"/{act_text(entry)}", None)
    if found is None:
        return None
    parts = found.split("/")
    taken = dict(entry)
    taken["step"] = parts[0]
    taken["act"] = number_of(parts[1])
    return taken


def act_text(entry):
    """The act of an entry in digits; "" for none."""
    value = entry.get("act", None)
    if isinstance(value, bool) or isinstance(value, int | float) is False:
        return ""
    for number in range(100):
        if number == value:
            return f"{number}"
    return ""


def number_of(digits):
    """The number that digits write."""
    number = 0
    for digit in digits:
        number = number * 10 + "0123456789".find(digit)
    return number


def between(before, now):
    """What carries over from one plan to another, each {"yard", "steps"}.

    {"acts", "points": names that stand, "moved": [{"point", "name", "dx", "dy"}], "gone": [{"point", "name"}],
    "new": [{"point", "name"}]}; of what moved, went or came only nails and marks on ground and wall are told.
    """
    was = before["yard"]["points"]
    points = now["yard"]["points"]
    known = {}
    stand = [name for name in sorted(points.keys()) if is_standing(before["yard"], now["yard"], name, known)]
    moved = []
    came = []
    for name in sorted(points.keys()):
        if is_told(points[name]):
            if name not in was:
                came.append({"point": name, "name": points[name]["name"]})
            elif is_at(was[name], points[name]) is False:
                one = {"point": name, "name": points[name]["name"]}
                one["dx"] = points[name]["x"] - was[name]["x"]
                one["dy"] = points[name]["y"] - was[name]["y"]
                moved.append(one)
    gone = []
    for name in sorted(was.keys()):
        if is_told(was[name]) and name not in points:
            gone.append({"point": name, "name": was[name]["name"]})
    return {"acts": same_acts(before, now, stand), "points": stand, "moved": moved, "gone": gone, "new": came}


def is_told(point):
    """True for what is driven into something: marks on the ground of the walk itself, nails, marks on the wall."""
    return point["kind"] in ["ground", "nail", "wall"] and point.get("after", "") == ""


def is_near(one, other):
    """True for two lengths that no tape tells apart."""
    return abs(one - other) < SAME


def is_at(one, other):
    """True for points at one place."""
    return is_near(one["x"], other["x"]) and is_near(one["y"], other["y"])


def is_standing(before, now, name, known):
    """True when a point and all that it hangs on are as they were; `known` holds the answers so far."""
    if name not in known:
        known[name] = False
        known[name] = name in before["points"] and name in now["points"] and is_same(before, now, name, known)
    return known[name] is True


def is_same(before, now, name, known):
    """`is_standing` of a point that both have."""
    one = before["points"][name]
    other = now["points"][name]
    if one["kind"] != other["kind"] or is_at(one, other) is False:
        return False
    if is_near(one.get("reading", 0.0), other.get("reading", 0.0)) is False:
        return False
    if one.get("back", False) != other.get("back", False):
        return False
    for part in PARTS:
        if one.get(part, None) != other.get(part, None):
            return False
    for part in ["board", "offset"]:
        if is_same_pair(one.get(part, [0.0, 0.0]), other.get(part, [0.0, 0.0])) is False:
            return False
    return is_hung_as_before(before, now, one, other, known)


def is_same_pair(one, other):
    """True for two directions, or two offsets, that are one."""
    return is_near(one[0], other[0]) and is_near(one[1], other[1])


def is_hung_as_before(before, now, one, other, known):
    """True when the points that a point is read from or hangs under, and the strings it is on, stand as before."""
    for part in ["from", "under"]:
        if one.get(part, None) is not None and is_standing(before, now, one[part], known) is False:
            return False
    strings = list(one.get("strings", []))
    others = list(other.get("strings", []))
    if one.get("string", None) is not None:
        strings.append(one["string"])
        others.append(other["string"])
    for i in range(len(strings)):
        if strings[i] != others[i] or is_same_string(before, now, strings[i], known) is False:
            return False
    return True


def is_same_string(before, now, name, known):
    """True when both ends of a string are what they were and stand as before."""
    if name not in before["strings"] or name not in now["strings"]:
        return False
    for end in ["from", "to"]:
        if before["strings"][name][end] != now["strings"][name][end]:
            return False
        if is_standing(before, now, now["strings"][name][end], known) is False:
            return False
    return True


def same_acts(before, now, stand):
    """Acts that are the same in both plans, each by its key "step/act"."""
    was = {}
    for step in before["steps"]:
        was[step["id"]] = step["acts"]
    found = {}
    for step in now["steps"]:
        acts = was.get(step["id"], [])
        for j in range(len(step["acts"])):
            for i in range(len(acts)):
                key = step["id"] + f"/{i}"
                if key not in found and is_same_act(now, acts[i], step, j, stand):
                    found[key] = step["id"] + f"/{j}"
                    break
    return found


def is_same_act(now, one, step, j, stand):
    """True when what was done in an act before is done in this act too."""
    other = step["acts"][j]
    if one["act"] != other["act"]:
        return False
    if one["act"] == "set" or one["act"] == "stake":
        return one["point"] == other["point"] and one["point"] in stand
    if one["act"] == "heed":
        if is_same_message(one["say"], other["say"]) is False:
            return False
        return is_lit_standing(now, other, stand) and is_seek_standing(step, j, stand)
    if one["act"] == "seek":
        return True
    return one["say"]["key"] == other["say"]["key"] and one.get("stands", "") == other.get("stands", "")


def is_same_message(one, other):
    """True for two sentences that say the same."""
    key = one.get("key", one.get("word", ""))
    if key != other.get("key", other.get("word", "")):
        return False
    slots = one.get("slots", {})
    others = other.get("slots", {})
    for name in sorted(slots.keys()):
        if name not in others or is_same_slot(slots[name], others[name]) is False:
            return False
    return True


def is_same_slot(one, other):
    """True for two slots that read the same."""
    if isinstance(one, dict) and isinstance(other, dict):
        return is_same_message(one, other)
    if isinstance(one, str) or isinstance(other, str) or isinstance(one, dict) or isinstance(other, dict):
        return isinstance(one, str) and isinstance(other, str) and one == other
    return is_near(one, other)


def is_lit_standing(now, act, stand):
    """True when the points and boards that an act is about stand as before."""
    for lit in act["lit"]:
        if lit.startswith("point-") and lit[6:] not in stand:
            return False
        if lit.startswith("board-") and now["yard"]["boards"][lit[6:]]["nail"] not in stand:
            return False
    return True


def is_seek_standing(step, j, stand):
    """False for what begins a seek of which a mark is new or moved: it is begun anew."""
    if j + 1 >= len(step["acts"]) or step["acts"][j + 1]["act"] != "seek":
        return True
    for name in step["acts"][j + 1]["marks"]:
        if name not in stand:
            return False
    return True
