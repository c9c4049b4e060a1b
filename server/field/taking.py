"""One entry into the state: what each kind does, and what it does to what other phones did meanwhile."""

from . import acts, after, carry, check, entries, network, readings, together


def take(doc, state, given):
    """Take one entry into the state (changed in place, and returned); what does not fit the document is passed over."""
    together.note(state, given)
    entry = carry.taken_as(doc, given)
    if entry is None:
        together.leave_behind(doc, state, given)
        return state
    if entry["kind"] == "way":
        take_way(doc, state, entry)
        return state
    if entry["kind"] == "after":
        take_after(doc, state, entry)
        return state
    act = acts.find_act(doc, entry)
    if act is None or entries.is_fit(doc, entry, act) is False:
        return state
    record = acts.act_record(state, entry["step"], entries.act_number(entry))
    state["last"] = None
    state["step"] = entry["step"]
    kind = entry["kind"]
    if kind == "heed":
        take_heed(doc, state, entry, record)
    elif kind == "set":
        record["done"] = True
        take_set(doc, state, entry, act["point"])
    elif kind == "reading":
        check.take_reading(doc, state, entry, act, record)
    elif kind == "move":
        take_move(doc, state, entry, act, record)
    else:
        take_stake(doc, state, entry, act["point"])
    return state


def take_way(doc, state, entry):
    """From here on the other way through the yard; what is set and read stays."""
    if entry.get("way", "") in doc["job"]["ways"]:
        together.take_way(state, entry, acts.way_of(doc, state))
        state["way"] = entry["way"]


def take_after(doc, state, entry):
    """What comes after digging or pouring is begun; strings put back up upset what others read meanwhile."""
    what = entry.get("what", "")
    if what not in after.KINDS:
        return
    if what == "strings":
        upset(doc, state, entry, nails_of(doc, state), "back")
    after.begin(doc, state, what)


def upset(doc, state, entry, names, why):
    """What others did on these points meanwhile is asked again."""
    keys = together.upset(doc, state, entry, names, why)
    if len(state["phones"]) > 1:
        open_again(doc, state, keys)


def nails_of(doc, state):
    """The nails that are set."""
    names = doc["yard"]["points"]
    return [name for name in sorted(names.keys()) if names[name]["kind"] == "nail" and name in state["born"]]


def take_strike(doc, state, entry, struck):
    """What was struck is left out by the fold; what others built on it without knowing is asked again."""
    taken = carry.taken_as(doc, struck)
    if taken is None:
        return
    names = []
    if taken["kind"] == "after" and taken.get("what", "") == "strings":
        names = nails_of(doc, state)
    elif taken["kind"] == "set" or taken["kind"] == "move":
        act = acts.find_act(doc, taken)
        if act is not None and entries.is_fit(doc, taken, act):
            names.append(taken.get("point", act.get("point", "")))
    if len(names) > 0:
        upset(doc, state, entry, names, "strike")


def take_heed(doc, state, entry, record):
    """Read and done; the seek that comes next finds its first pull."""
    if record["done"] is False:
        record["done"] = True
        begin_seek(doc, state, entry)


def take_set(doc, state, entry, name):
    """A point is made; what waited for it goes on."""
    how = together.take_set(doc, state, entry, name)
    if how == "apart":
        open_again(doc, state, [])
        return
    if how != "":
        check.take_anew(doc, state, name)
    state["born"][name] = len(state["shifts"])
    plumb(doc, state, name)
    if how == "twice":
        upset(doc, state, entry, [name], "set")
    keys = waiting_for(state, name)
    if len(keys) > 0:
        open_again(doc, state, keys)


def waiting_for(state, name):
    """Keys of the acts that wait for a point to be set."""
    return [key for key in sorted(state["acts"].keys()) if state["acts"][key]["waits"] == name]


def take_move(doc, state, entry, act, record):
    """A nail or mark is moved; what others read and set on it meanwhile is asked again."""
    keys = together.upset(doc, state, entry, [entry["point"]], "move")
    check.take_move(doc, state, entry, act, record)
    if "move " + entry["point"] in state["news"]:
        for key in acts_on(doc, state, entry["point"]):
            keys.append(key)
    if len(state["phones"]) > 1:
        open_again(doc, state, keys)


def acts_on(doc, state, name):
    """Keys of the checks that are begun and may move a point, and of every seek that is."""
    found = []
    for step in doc["steps"]:
        for i in range(len(step["acts"])):
            key = step["id"] + f"/{i}"
            if key in state["acts"] and (step["acts"][i]["act"] == "seek" or name in step["acts"][i].get("moves", [])):
                found.append(key)
    return found


def open_again(doc, state, keys):
    """Let these acts, and every seek that has lost a mark, ask anew; what was said last stays said."""
    said = state["last"]
    for step in doc["steps"]:
        for i in range(len(step["acts"])):
            key = step["id"] + f"/{i}"
            act = step["acts"][i]
            if key in state["acts"] and (key in keys or is_lost(state, act, state["acts"][key])):
                if act["act"] == "check" or act["act"] == "seek":
                    state["acts"][key]["done"] = False
                    check.settle(doc, state, act, state["acts"][key])
    state["last"] = said


def is_lost(state, act, record):
    """True for a seek that is done while one of its marks is not set any more."""
    if act["act"] != "seek" or record["waits"] != "" or is_begun(record) is False:
        return False
    for name in act["marks"]:
        if name not in state["born"]:
            return True
    return False


def is_begun(record):
    """True for a seek that has asked for a pull, or was closed."""
    return record["done"] is True or record["count"] > 0 or record["next"] is not None


def begin_seek(doc, state, entry):
    """Where the next act of a step seeks pulls, find the first of them."""
    number = entries.act_number(entry) + 1
    act = acts.find_act(doc, {"step": entry["step"], "act": number})
    if act is not None and act["act"] == "seek":
        record = acts.act_record(state, entry["step"], number)
        if record["done"] is False:
            check.settle(doc, state, act, record)


def plumb(doc, state, name):
    """A mark on the ground is born where its flag hangs now, with that doubt, and stays there."""
    yard = doc["yard"]
    if yard["points"][name]["kind"] == "ground":
        state["marks"][name] = network.stand(readings.weigh(doc, state, [name]), name, 0.0)
        state["marks"][name]["staked"] = False
        state["marks"][name]["off"] = None


def take_stake(doc, state, entry, name):
    """A mark was staked, where it was marked or off it by so much; of two stakes the farther one is what is known."""
    mark = state["marks"].get(name, None)
    kept = together.take_stake(state, entry, name)
    if mark is None:
        return
    mark["staked"] = True
    mark["off"] = entry.get("off", None)
    mark["within"] = 0.0
    for one in kept:
        dx = mark["x"] - doc["yard"]["points"][name]["x"]
        dy = mark["y"] - doc["yard"]["points"][name]["y"]
        if one["off"] is not None:
            dx = dx + one["off"][0]
            dy = dy + one["off"][1]
        mark["within"] = max(mark["within"], network.radius(dx, dy, mark["xx"], mark["xy"], mark["yy"]))
