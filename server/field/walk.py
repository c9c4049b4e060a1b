"""The walk: a fold over field book entries. What is done, what is asked next, what a reading means.

A document carries the yard and its steps; each step is a list of acts (heed, set, check, stake). A reading speaks for
the strings as they stood when it was taken: moving a nail or mark makes every reading that hangs on it stale.
Answers are keys, names and numbers; the faces make the sentences.
"""

from . import check, network, reply


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
    return {"acts": {}, "readings": [], "cannot": {}, "marks": {}, "pulls": 0, "moves": 0, "last": None, "step": ""}


def apply(doc, state, entry):
    """Take one entry into the state (changed in place, and returned); what does not fit the document is passed over."""
    act = find_act(doc, entry)
    if act is None:
        return state
    record = act_record(state, entry["step"], entry["act"])
    state["last"] = None
    state["step"] = entry["step"]
    kind = entry["kind"]
    if kind == "heed" and act["act"] == "heed":
        record["done"] = True
    elif kind == "set" and act["act"] == "set":
        record["done"] = True
        plumb(doc, state, act["point"])
    elif kind == "reading" and act["act"] == "check":
        check.take_reading(doc, state, entry, act, record)
    elif kind == "move" and act["act"] == "check":
        check.take_move(doc, state, entry, act, record)
    elif kind == "stake" and act["act"] == "stake":
        take_stake(doc, state, entry, record)
    return state


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
        state["acts"][key] = {
            "done": False, "unsure": False, "moves": [], "again": None, "asked": [], "said": None, "aside": 0.0,
        }
    return state["acts"][key]


def plumb(doc, state, name):
    """A mark on the ground is born where its flag hangs now, with that doubt, and stays there."""
    yard = doc["yard"]
    if yard["points"][name]["kind"] == "ground":
        fit = network.adjust(yard, check.live_readings(state), [name], [])
        state["marks"][name] = network.stand(yard, fit, name, yard["tape"]["set"])
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
        ask = open_ask(doc, state, step)
        if ask is not None:
            return ask
    return plain_ask("end", "", 0 - 1, {"key": "walk.end", "slots": {}}, state)


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
    return plain_ask("nothing", step_id, 0 - 1, {"key": said, "slots": {}}, state)


def open_ask(doc, state, step):
    """The ask of the first act of a step that is not done, or None."""
    for i in range(len(step["acts"])):
        record = act_record(state, step["id"], i)
        if record["done"] is False:
            return act_ask(doc, state, step, i, record)
    return None


def plain_ask(kind, step_id, index, said, state):
    """An ask with nothing but its sentence; the last verdict rides along."""
    return {
        "ask": kind,
        "step": step_id,
        "act": index,
        "say": said,
        "more": None,
        "verdict": state["last"],
        "doubt": None,
        "inches": None,
        "arrow": "",
        "lit": [],
    }


def act_ask(doc, state, step, index, record):
    """The ask of one act."""
    act = step["acts"][index]
    if act["act"] == "check":
        return check_ask(doc, state, step, index, record)
    ask = plain_ask(act["act"], step["id"], index, act["say"], state)
    ask["more"] = act.get("more", None)
    ask["lit"] = act["lit"]
    if act["act"] == "set":
        ask["point"] = act["point"]
        ask["inches"] = act["inches"]
    if act["act"] == "stake":
        ask["point"] = act["point"]
        mark = state["marks"].get(act["point"], None)
        if mark is not None:
            ask["within"] = mark["within"]
            ask["doubt"] = {"key": "walk.within", "slots": {"within": mark["within"]}}
    return ask


def check_ask(doc, state, step, index, record):
    """The ask of a check: a pull again, a move, or the next pull."""
    act = step["acts"][index]
    if record["again"] is not None:
        ask = pull_ask(act, step, index, record["again"], state)
        ask["ask"] = "again"
        ask["suspect"] = record["again"]["suspect"]
        ask["doubt"] = ask["suspect"]
        return ask
    if len(record["moves"]) > 0:
        return move_ask(doc, step, index, record["moves"][0], state)
    return pull_ask(act, step, index, check.open_pull(state, act), state)


def pull_ask(act, step, index, wanted, state):
    """Ask for one tape distance."""
    for pull in act["pulls"]:
        if check.same_pull(pull, wanted["from"], wanted["to"]):
            ask = plain_ask("pull", step["id"], index, pull["say"], state)
            ask["from"] = pull["from"]
            ask["to"] = pull["to"]
            ask["target"] = pull["inches"]
            ask["inches"] = pull["inches"]
            ask["more"] = pull["more"]
            ask["why"] = act["say"]
            ask["lit"] = ["pull-" + pull["from"] + "-" + pull["to"], "point-" + pull["from"], "point-" + pull["to"]]
            return ask
    raise ValueError("no such pull")


def move_ask(doc, step, index, move, state):
    """Ask for one nail or mark to be moved: how much, which way, how sure."""
    arrow = arrow_of(move["by"])
    named = {"point": doc["yard"]["points"][move["point"]]["name"], "amount": move["amount"]}
    ask = plain_ask("move", step["id"], index, {"key": "walk.move." + arrow, "slots": named}, state)
    ask["point"] = move["point"]
    ask["by"] = move["by"]
    ask["inches"] = move["amount"]
    ask["arrow"] = arrow
    ask["doubt"] = {"key": "walk.doubt", "slots": {"doubt": move["doubt"]}}
    ask["more"] = {"key": "walk.move.more", "slots": {}}
    ask["lit"] = ["point-" + move["point"]]
    return ask


def arrow_of(by):
    """The side a move goes to, seen facing the house."""
    if abs(by[0]) >= abs(by[1]):
        if by[0] > 0:
            return "right"
        return "left"
    if by[1] > 0:
        return "away"
    return "toward"


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
        now = "done"
        for i in range(len(step["acts"])):
            record = act_record(state, step["id"], i)
            if record["done"] is False:
                now = "open"
            elif record["unsure"] is True and now == "done":
                now = "unsure"
        out.append({"id": step["id"], "title": step["title"], "state": now})
    return out


def tries(doc, state, step_id):
    """Every reading kept in a step, oldest first, with what it said."""
    out = []
    for one in state["readings"]:
        if one["step"] == step_id:
            kept = {"from": one["from"], "to": one["to"], "reading": one["inches"], "target": one["target"]}
            kept["say"] = check.read_message(one)
            out.append(kept)
    return out


def truth(doc, state):
    """How true the yard is: every point's place and 95 % radius, every footing mark's, and whether all are inside."""
    yard = doc["yard"]
    names = sorted(yard["points"].keys())
    fit = network.adjust(yard, check.live_readings(state), names, [])
    points = {}
    marks = []
    staked = []
    all_true = True
    for name in names:
        mark = state["marks"].get(name, None)
        here = mark
        if mark is None:
            here = network.stand(yard, fit, name, 0.0)
        points[name] = {"x": here["x"], "y": here["y"], "within": here["within"]}
        if yard["points"][name]["kind"] == "ground":
            row = mark_row(name, here, mark)
            marks.append(row)
            if row["staked"] is True:
                staked.append(name)
            if row["staked"] is False or here["within"] > yard["tolerance"]:
                all_true = False
    return {
        "true": all_true,
        "pulls": state["pulls"],
        "moves": state["moves"],
        "staked": staked,
        "points": points,
        "marks": marks,
    }


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
