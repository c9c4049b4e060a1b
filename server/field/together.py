"""Several phones in one book: what was done on one while another did not know of it.

An entry knows of those of its own device, and of the first so many of each other that its `seen` names: {device: n}.
Two entries that know nothing of each other are concurrent: nobody can say which was done first in the yard. In the
order of the fold only the later one has to be asked. An entry without `seen` is taken to know everything: nothing is
concluded from it.

An upset is what makes others doubtful: a move, a point set a second time, strings put back up, and the striking of any
of these. A reading or a set that hangs on what was upset concurrently, before it or after it in the order, is apart: it
is not weighed, and is asked again.
"""

from . import points

MOST_PHONES = 9  # that have a name of their own


def start(state):
    """Nothing known of any phone."""
    state["phones"] = []  # devices, in the order of their first entries
    state["latest"] = {}  # device -> its highest n
    state["upsets"] = {}  # device -> its upsets, oldest first
    state["sets"] = {}  # point -> {"device", "n"} of the set that counts
    state["stakes"] = {}  # point -> stakes of which none knew the one before
    state["shifted"] = {}  # point -> {"device", "n"} of its last move
    state["doubtful"] = {}  # point -> message: it is to be set again
    state["news"] = {}  # what -> message: what two phones did at once
    state["chosen"] = None  # {"device", "n"} of the way chosen last


def key_of(device):
    """A device as the key of a dict: never a word that means something by itself."""
    return "d " + device


def note(state, entry):
    """A phone has made an entry."""
    key = key_of(entry["device"])
    if key not in state["latest"]:
        state["phones"].append(entry["device"])
        state["latest"][key] = entry["n"]
    state["latest"][key] = max(state["latest"][key], entry["n"])


def is_known(entry, device, n):
    """True when whoever made an entry had this one of a device in the book, or when nobody can tell."""
    seen = entry.get("seen", None)
    if device == entry["device"] or isinstance(seen, dict) is False:
        return True
    highest = seen.get(device, 0)
    return isinstance(highest, int | float) and highest >= n


def strangers(state, entry):
    """Devices of which entries came before this one in the order, and it does not know of all of them."""
    return [one for one in state["phones"] if is_known(entry, one, state["latest"][key_of(one)]) is False]


def upset_under(doc, state, entry, names):
    """The newest upset concurrent with an entry, before it in the order, of what these points hang on; or None."""
    found = None
    others = strangers(state, entry)
    if len(others) == 0:
        return None
    hung = hanging(doc, state, names)
    for device in others:
        for one in reversed(state["upsets"].get(key_of(device), [])):
            if is_known(entry, device, one["n"]):
                break
            if is_among(one["points"], hung) and (found is None or one["at"] > found["at"]):
                found = one
    return found


def is_among(names, others):
    """True when the lists share a name."""
    for name in names:
        if name in others:
            return True
    return False


def hanging(doc, state, names):
    """These points, and all that the place of any of them hangs on now; a mark on the ground stays where it is."""
    found = []
    for name in names:
        points.add_name(found, name)
        if doc["yard"]["points"][name]["kind"] != "ground" or name not in state["born"]:
            for one in points.hangs_on(doc["yard"], name):
                points.add_name(found, one)
    return found


def upset(doc, state, entry, names, why):
    """An entry upset these points: what other phones read and set on them, unknown to it, is apart from now on.

    Keys of the acts that are open again: ["step/act"].
    """
    key = key_of(entry["device"])
    if key not in state["upsets"]:
        state["upsets"][key] = []
    at = 0
    for device in state["phones"]:
        at = at + len(state["upsets"].get(key_of(device), []))
    one = {"at": at, "n": entry["n"], "points": names, "why": why, "phone": phone_name(state, entry["device"])}
    state["upsets"][key].append(one)
    if len(strangers(state, entry)) == 0:
        return []
    keys = part_readings(doc, state, entry, one)
    if why != "set":
        part_sets(doc, state, entry, one)
    return keys


def part_readings(doc, state, entry, one):
    """Readings that an upset entry does not know of, and that touch what it upset, are believed no more."""
    keys = []
    for reading in state["readings"]:
        if reading["status"] == "live" and is_known(entry, reading["device"], reading["n"]) is False:
            if is_among(one["points"], hanging(doc, state, [reading["from"], reading["to"]])):
                part(doc, state, reading, one)
                points.add_name(keys, reading["act"])
    return keys


def part(doc, state, reading, one):
    """A reading is not weighed; its act asks for it again."""
    reading["status"] = "apart"
    hung = hanging(doc, state, [reading["from"], reading["to"]])
    named = [name for name in one["points"] if name in hung]
    reading["why"] = message(doc, "walk.apart." + one["why"], named[0], one["phone"])
    record = state["acts"][reading["act"]]
    record["apart"].append(reading["number"])
    record["done"] = False


def message(doc, key, name, phone):
    """What is said of a point and a phone."""
    return {"key": key, "slots": {"point": doc["yard"]["points"][name]["name"], "phone": phone}}


def part_sets(doc, state, entry, one):
    """Marks that were set on what was upset, unknown to the entry that upset it, are to be set again."""
    for name in sorted(state["sets"].keys()):
        was = state["sets"][name]
        if name in state["born"] and name not in one["points"] and is_known(entry, was["device"], was["n"]) is False:
            hung = [other for other in one["points"] if other in points.hangs_on(doc["yard"], name)]
            if len(hung) > 0:
                doubt_set(doc, state, name, message(doc, "walk.again." + one["why"], hung[0], one["phone"]))


def doubt_set(doc, state, name, said):
    """A point is taken as not set, until it is set again."""
    state["doubtful"][name] = said
    state["born"] = without(state["born"], name)
    state["marks"] = without(state["marks"], name)


def without(table, name):
    """A dict without one of its names."""
    kept = {}
    for one in sorted(table.keys()):
        if one != name:
            kept[one] = table[one]
    return kept


def apart_message(doc, state, entry):
    """Why a reading is set apart as it is taken; None when nothing speaks against it."""
    under = upset_under(doc, state, entry, [entry["from"], entry["to"]])
    if under is None:
        return None
    hung = hanging(doc, state, [entry["from"], entry["to"]])
    named = [name for name in under["points"] if name in hung]
    return message(doc, "walk.apart." + under["why"], named[0], under["phone"])


def leave_behind(doc, state, entry):
    """What was set on an earlier plan, and is elsewhere on this one, is still there: said when it is set anew."""
    revision = entry.get("revision", None)
    if entry["kind"] != "set" or isinstance(revision, str) is False or revision not in doc.get("carries", {}):
        return
    for one in doc["carries"][revision]["moved"]:
        if one["point"] == entry.get("point", None) and one["point"] not in state["born"]:
            state["doubtful"][one["point"]] = {"key": "walk.again.plan", "slots": {}}


def take_set(doc, state, entry, name):
    """A point was set: "twice" when another phone had set it and this one did not know; "apart" when what it hangs on
    was upset concurrently; "anew" when it was doubtful; else "".
    """
    was = state["sets"].get(name, None)
    anew = name in state["doubtful"] and was is not None
    under = upset_under(doc, state, entry, [name])
    state["sets"][name] = {"device": entry["device"], "n": entry["n"]}
    state["news"] = without(state["news"], "set " + name)
    if under is not None and under["why"] != "set":
        hung = hanging(doc, state, [name])
        cause = [other for other in under["points"] if other in hung or other == name]
        doubt_set(doc, state, name, message(doc, "walk.again." + under["why"], cause[0], under["phone"]))
        return "apart"
    state["doubtful"] = without(state["doubtful"], name)
    if anew:
        return "anew"
    if was is None or name not in state["born"] or is_known(entry, was["device"], was["n"]):
        return ""
    said = message(doc, "walk.news.set", name, phone_name(state, entry["device"]))
    said["slots"]["other"] = phone_name(state, was["device"])
    state["news"]["set " + name] = said
    return "twice"


def is_moved_twice(doc, state, entry):
    """True when another phone moved or set a point, and whoever moved it now did not know."""
    name = entry["point"]
    twice = False
    for was in [state["shifted"].get(name, None), state["sets"].get(name, None)]:
        if was is not None and is_known(entry, was["device"], was["n"]) is False:
            twice = True
            said = message(doc, "walk.news.move", name, phone_name(state, entry["device"]))
            said["slots"]["other"] = phone_name(state, was["device"])
            state["news"]["move " + name] = said
    if twice is False:
        state["news"] = without(state["news"], "move " + name)
    state["shifted"][name] = {"device": entry["device"], "n": entry["n"]}
    return twice


def read_anew(doc, state, names):
    """A pull that counts tells where what was moved twice stands: it is no news any more."""
    if len(state["news"]) > 0:
        for name in hanging(doc, state, names):
            state["news"] = without(state["news"], "move " + name)


def is_staked_once(state, name):
    """True for a mark that is staked, and not by two phones that did not know of each other."""
    if name not in state["marks"] or state["marks"][name]["staked"] is False:
        return False
    return len(state["stakes"].get(name, [])) < 2


def take_stake(state, entry, name):
    """A mark was staked: the stakes that may stand at it now, the last one the one that counts."""
    kept = []
    for was in state["stakes"].get(name, []):
        if is_known(entry, was["device"], was["n"]) is False:
            kept.append(was)
    kept.append({"device": entry["device"], "n": entry["n"], "off": entry.get("off", None)})
    state["stakes"][name] = kept
    return kept


def staked_message(doc, state, name):
    """Which of the stakes at a mark to leave; None where there is one at most."""
    kept = state["stakes"].get(name, [])
    if len(kept) < 2 or name not in state["marks"] or state["marks"][name]["staked"] is False:
        return None
    said = message(doc, "walk.news.stake", name, phone_name(state, kept[len(kept) - 1]["device"]))
    said["slots"]["other"] = phone_name(state, kept[len(kept) - 2]["device"])
    return said


def take_way(state, entry, before):
    """Another way was chosen; news when the way before was chosen on another phone at once."""
    state["news"] = without(state["news"], "way")
    was = state["chosen"]
    if was is not None and before != entry["way"] and is_known(entry, was["device"], was["n"]) is False:
        slots = {"phone": phone_name(state, entry["device"]), "other": phone_name(state, was["device"])}
        state["news"]["way"] = {"key": "walk.news.way", "slots": slots}
    state["chosen"] = {"device": entry["device"], "n": entry["n"]}


def news(doc, state):
    """What two phones did at once, and what to do about it: messages."""
    found = []
    for name in sorted(state["stakes"].keys()):
        said = staked_message(doc, state, name)
        if said is not None:
            found.append(said)
    for name in sorted(state["news"].keys()):
        found.append(state["news"][name])
    return found


def phone_name(state, device):
    """A phone by the order of the phones' first entries; a face says "this phone" of its own."""
    for i in range(min(len(state["phones"]), MOST_PHONES)):
        if state["phones"][i] == device:
            number = i + 1
            return {"word": f"walk.phone.{number}"}
    return {"word": "walk.phone.more"}
