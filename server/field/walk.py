"""The walk: a fold over field book entries. What is done, what is asked next, what a reading means.

A document carries the yard and its steps; each step is a list of acts (heed, set, check, seek, stake). There are two
ways through the same yard; what is set and read in one counts in the other. Answers are keys, names and numbers; the
faces make the sentences.
"""

from . import after, asks, check, network, readings, reply, standing


def fold(doc, entries):
    """The state after all entries, in the order (n, device); a struck entry is left out."""
    return resume(doc, None, entries)


def resume(doc, kept, entries):
    """What `fold` gives, from a state kept after the first entries of the book: {"ids", "state"}, or None.

    The kept state is gone on with (and changed) when its entries still lead the book and none of them was struck since.
    """
    if kept is not None and is_whole(kept["ids"], entries):
        return kept["state"]
    ordered = sorted(entries, key=order)
    struck = struck_ids(entries)
    state = start()
    taken = 0
    if kept is not None and is_lead(kept["ids"], ordered):
        state = kept["state"]
        taken = len(kept["ids"])
    for i in range(taken, len(ordered)):
        if struck.get(ordered[i]["id"], False) is False:
            apply(doc, state, ordered[i])
    return state


def is_whole(ids, entries):
    """True when these ids are the entries', each once, in whatever order."""
    if len(ids) != len(entries):
        return False
    kept = {}
    for one in ids:
        kept[one] = True
    for entry in entries:
        if entry["id"] not in kept:
            return False
    return True


def is_lead(ids, ordered):
    """True when the entries in order begin with these ids, and no later one strikes any of them."""
    if len(ids) > len(ordered):
        return False
    lead = {}
    for i in range(len(ids)):
        if ordered[i]["id"] != ids[i]:
            return False
        lead[ids[i]] = True
    for i in range(len(ids), len(ordered)):
        if ordered[i]["kind"] == "strike" and lead.get(ordered[i]["strikes"], False) is True:
            return False
    return True


def struck_ids(entries):
    """Ids of the entries that were struck, each True."""
    struck = {}
    for entry in entries:
        if entry["kind"] == "strike":
            struck[entry["strikes"]] = True
    return struck


def order(entry):
    """Sort key of an entry: n in twelve digits, then the device, then the id."""
    digits = f"{entry['n']}"
    return "000000000000"[len(digits) :] + digits + " " + entry["device"] + " " + entry["id"]


def start():
    """The state before any entry."""
    return {
        "acts": {}, "way": "", "after": {}, "step": "", "last": None, "pulls": 0, "moves": 0,
        "born": {}, "shifts": [], "guess": {}, "marks": {}, "gone": {}, "loose": {}, "knocked": [],
        "readings": [], "cannot": {}, "alone": False, "asked": {}, "sure": {}, "probed": {}, "told": {}, "tells": 0,
    }


def apply(doc, state, entry):
    """Take one entry into the state (changed in place, and returned); what does not fit the document is passed over."""
    if entry["kind"] == "way":
        take_way(doc, state, entry)
        return state
    if entry["kind"] == "after":
        if entry.get("what", "") in after.KINDS:
            after.begin(doc, state, entry["what"])
        return state
    act = find_act(doc, entry)
    if act is None:
        return state
    record = act_record(state, entry["step"], entry["act"])
    state["last"] = None
    state["step"] = entry["step"]
    kind = entry["kind"]
    if kind == "heed" and act["act"] == "heed":
        record["done"] = True
        begin_seek(doc, state, entry)
    elif kind == "set" and act["act"] == "set":
        record["done"] = True
        state["born"][act["point"]] = len(state["shifts"])
        plumb(doc, state, act["point"])
    elif kind == "reading" and (act["act"] == "check" or act["act"] == "seek"):
        check.take_reading(doc, state, entry, act, record)
    elif kind == "move" and (act["act"] == "check" or act["act"] == "seek"):
        check.take_move(doc, state, entry, act, record)
    elif kind == "stake" and act["act"] == "stake":
        take_stake(doc, state, entry, record)
    return state


def take_way(doc, state, entry):
    """From here on the other way through the yard; what is set and read stays."""
    if entry.get("way", "") in doc["job"]["ways"]:
        state["way"] = entry["way"]


def way_of(doc, state):
    """The way the yard is walked: the one chosen last, else the job's own."""
    if state["way"] == "":
        return doc["job"]["way"]
    return state["way"]


def is_walked(doc, state, step):
    """True when a step belongs to the way that is walked, and was begun."""
    ways = step.get("ways", [])
    return after.is_begun(state, step) and (len(ways) == 0 or way_of(doc, state) in ways)


def begin_seek(doc, state, entry):
    """Where the next act of a step seeks pulls, find the first of them."""
    act = find_act(doc, {"step": entry["step"], "act": entry["act"] + 1})
    if act is not None and act["act"] == "seek":
        record = act_record(state, entry["step"], entry["act"] + 1)
        if record["done"] is False:
            check.settle(doc, state, act, record)


def find_step(doc, step_id):
    """A step by its id, or None."""
    for step in doc["steps"]:
        if step["id"] == step_id:
            return step
    return None


def find_act(doc, entry):
    """The act an entry answers, or None."""
    step = find_step(doc, entry.get("step", ""))
    index = entry.get("act", 0 - 1)
    if step is None or index < 0 or index >= len(step["acts"]):
        return None
    return step["acts"][index]


def act_record(state, step_id, index):
    """What the state holds of one act, made when first needed."""
    key = step_id + f"/{index}"
    if key not in state["acts"]:
        state["acts"][key] = after.blank()
    return state["acts"][key]


def plumb(doc, state, name):
    """A mark on the ground is born where its flag hangs now, with that doubt, and stays there."""
    yard = doc["yard"]
    if yard["points"][name]["kind"] == "ground":
        state["marks"][name] = network.stand(readings.weigh(doc, state, [name]), name, 0.0)
        state["marks"][name]["staked"] = False
        state["marks"][name]["off"] = None


def take_stake(doc, state, entry, record):
    """A mark was staked, where it was marked or off it by so much."""
    mark = state["marks"].get(entry["point"], None)
    if mark is None:
        return
    record["done"] = True
    mark["staked"] = True
    off = entry.get("off", None)
    if off is not None:
        plan = doc["yard"]["points"][entry["point"]]
        mark["off"] = off
        dx = mark["x"] + off[0] - plan["x"]
        dy = mark["y"] + off[1] - plan["y"]
        mark["within"] = network.radius(dx, dy, mark["xx"], mark["xy"], mark["yy"])


def answer(doc, state, ask, given):
    """An answer to an ask as the entry it makes: {"status": "ok", "entry"}, or "ask" / "bad" as tape text has them."""
    return reply.answer(doc, ask, given)


def next_ask(doc, state):
    """The first ask that is still open, in the order of the work; "end" when none is."""
    for step in doc["steps"]:
        if is_walked(doc, state, step):
            ask = open_ask(doc, state, step)
            if ask is not None:
                return ask
    return asks.plain_ask("end", "", 0 - 1, {"key": "walk.end", "slots": {}}, state)


def step_ask(doc, state, step_id):
    """The open ask of one step; "nothing" when all of it is done. Raises ValueError for an unknown step."""
    step = find_step(doc, step_id)
    if step is None:
        raise ValueError("no such step: " + step_id)
    ask = open_ask(doc, state, step)
    if ask is not None:
        return ask
    said = "walk.nothing"
    for i in range(len(step["acts"])):
        if act_record(state, step_id, i)["unsure"] is True:
            said = "walk.nothing-unsure"
    return asks.plain_ask("nothing", step_id, 0 - 1, {"key": said, "slots": {}}, state)


def open_ask(doc, state, step):
    """The ask of the first act of a step that is not done, or None."""
    for i in range(len(step["acts"])):
        record = act_record(state, step["id"], i)
        if is_done(state, step["acts"][i], record) is False:
            return asks.act_ask(doc, state, step, i, record)
    return None


def is_done(state, act, record):
    """True when an act is done; a point that is set is set for both ways."""
    if act["act"] == "set":
        return act["point"] in state["born"]
    stands = act.get("stands", "")
    if stands != "" and stands not in state["born"]:
        return True  # nothing to tie yet
    return record["done"] is True


def undo(doc, entries, step_id):
    """Id of the entry that undo strikes in a step: the newest that is neither struck nor a strike; "" when none is."""
    struck = struck_ids(entries)
    found = ""
    newest = ""
    for entry in entries:
        if entry.get("step", "") == step_id and entry["kind"] != "strike" and entry["kind"] != "note":
            if struck.get(entry["id"], False) is False and order(entry) > newest:
                newest = order(entry)
                found = entry["id"]
    return found


def step_list(doc, state):
    """Every step with its state: done, open, or unsure (closed with a pull that could not be taken)."""
    out = []
    for step in doc["steps"]:
        if is_walked(doc, state, step):
            out.append({"id": step["id"], "title": step["title"], "state": step_state(state, step)})
    return out


def step_state(state, step):
    """done, open, or unsure."""
    now = "done"
    for i in range(len(step["acts"])):
        record = act_record(state, step["id"], i)
        if is_done(state, step["acts"][i], record) is False:
            now = "open"
        elif record["unsure"] is True and now == "done":
            now = "unsure"
    return now


def tries(doc, state, step_id):
    """Every reading kept in a step, oldest first, with what it said."""
    out = []
    for one in state["readings"]:
        if one["step"] == step_id:
            kept = {"from": one["from"], "to": one["to"], "reading": one["inches"], "target": one["target"]}
            kept["status"] = one["status"]
            kept["say"] = readings.read_message(one)
            out.append(kept)
    return out


def truth(doc, state):
    """How true the yard is, as `standing.truth` tells it."""
    return standing.truth(doc, state, way_of(doc, state))
