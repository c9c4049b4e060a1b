"""The walk: a fold over field book entries. What is done, what is asked next, what a reading means.

A document carries the yard and its steps; each step is a list of acts (heed, set, check, stake). A reading speaks for
the strings as they stood when it was taken: moving a nail or mark makes every reading that hangs on it stale.
Answers are keys, names and numbers; the faces make the sentences.
"""

from . import network, square, tape

LEAST = 0.0625
LONGEST_OFF = 48.0
REASONS = ["blocked", "too long", "alone"]


def fold(doc, entries):
    """The state after all entries, in the order (n, device); a struck entry is left out."""
    struck = {}
    for entry in entries:
        if entry["kind"] == "strike":
            struck[entry["strikes"]] = True
    state = start()
    for entry in sorted(entries, key=order):
        if struck.get(entry["id"], False) is False:
            apply(doc, state, entry)
    return state


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
        take_reading(doc, state, entry, act, record)
    elif kind == "move" and act["act"] == "check":
        take_move(doc, state, entry, record)
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
        state["acts"][key] = {"done": False, "unsure": False, "moves": [], "again": None, "asked": [], "said": None}
    return state["acts"][key]


def live_readings(state):
    """Readings that speak for the strings as they stand now."""
    return [one for one in state["readings"] if one["live"] is True]


def same_pull(one, start_point, end_point):
    """True when a reading is of this pull, from either end."""
    if one["from"] == start_point and one["to"] == end_point:
        return True
    return one["from"] == end_point and one["to"] == start_point


def reading_of(state, pull):
    """The live reading of a pull, or None."""
    for one in live_readings(state):
        if same_pull(one, pull["from"], pull["to"]):
            return one
    return None


def pull_key(pull):
    """A pull's name, the same from either end."""
    if pull["from"] < pull["to"]:
        return pull["from"] + " " + pull["to"]
    return pull["to"] + " " + pull["from"]


def take_reading(doc, state, entry, act, record):
    """Keep a reading (the newest of a pull speaks for it) or why it cannot be pulled; then settle the check."""
    key = pull_key(entry)
    if entry.get("cannot", "") != "":
        state["cannot"][key] = entry["cannot"]
        record["again"] = None
        settle(doc, state, entry["step"], act, record)
        return
    for one in state["readings"]:
        if same_pull(one, entry["from"], entry["to"]):
            one["live"] = False
    state["cannot"][key] = ""
    state["pulls"] = state["pulls"] + 1
    kept = {"from": entry["from"], "to": entry["to"], "inches": entry["inches"], "live": True}
    kept["step"] = entry["step"]
    kept["target"] = network.distance(doc["yard"], {}, entry["from"], entry["to"])
    state["readings"].append(kept)
    record["again"] = None
    record["said"] = read_message(kept)
    settle(doc, state, entry["step"], act, record)


def read_message(kept):
    """What a reading says against its target, in the tape's own step: long, short or on it."""
    off = kept["inches"] - kept["target"]
    slots = {"reading": kept["inches"], "amount": abs(off)}
    if abs(off) < LEAST / 2.0:
        return {"key": "walk.read.on", "slots": slots}
    if off > 0:
        return {"key": "walk.read.long", "slots": slots}
    return {"key": "walk.read.short", "slots": slots}


def open_pull(state, act):
    """The first pull of a check that has neither a live reading nor a word that it cannot be pulled, or None."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is None and state["cannot"].get(pull_key(pull), "") == "":
            return pull
    return None


def settle(doc, state, step_id, act, record):
    """Once every pull of a check is answered: question what does not fit, find the moves, or close the check."""
    record["moves"] = []
    state["last"] = record["said"]
    if open_pull(state, act) is not None:
        return
    record["unsure"] = is_unsure(state, act)
    if has_reading(state, act):
        readings = live_readings(state)
        fit = network.adjust(doc["yard"], readings, act["moves"], [])
        if fit["oddness"] > network.ODD:
            question(record, act, readings[fit["odd"]], "walk.suspect.misfit")
            fit = network.adjust(doc["yard"], readings, act["moves"], flags_of(doc, act))
        find_moves(doc, fit, act, record)
        question_far_moves(doc, state, act, record)
        state["last"] = shape_message(state, act, record)
        if record["again"] is None and len(record["moves"]) == 0:
            record["done"] = True
            state["last"] = closing_message(fit, act, record, state["last"])
    else:
        record["done"] = True
        state["last"] = {"key": "walk.unchecked", "slots": {}}


def is_unsure(state, act):
    """True when a pull of the check could not be taken."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is None:
            return True
    return False


def has_reading(state, act):
    """True when at least one pull of the check was taken."""
    for pull in act["pulls"]:
        if reading_of(state, pull) is not None:
            return True
    return False


def flags_of(doc, act):
    """The set marks among the things a check may move."""
    return [name for name in act["moves"] if doc["yard"]["points"][name]["kind"] == "flag"]


def question(record, act, reading, why):
    """Ask for a pull of this check again, once for each way the strings have stood."""
    for pull in act["pulls"]:
        key = pull_key(pull)
        if same_pull(reading, pull["from"], pull["to"]) and key not in record["asked"]:
            record["asked"].append(key)
            slots = {"reading": reading["inches"], "target": pull["inches"]}
            record["again"] = {"from": pull["from"], "to": pull["to"], "suspect": {"key": why, "slots": slots}}


def question_far_moves(doc, state, act, record):
    """A move that the board has no room for is more likely a slip of the reading than of the nail."""
    for move in record["moves"]:
        if doc["yard"]["points"][move["point"]]["kind"] == "nail" and move["amount"] > doc["yard"]["tape"]["eye"]:
            for pull in act["pulls"]:
                kept = reading_of(state, pull)
                if record["again"] is None and kept is not None and abs(kept["inches"] - kept["target"]) >= 1.0:
                    question(record, act, kept, "walk.suspect.far")


def find_moves(doc, fit, act, record):
    """Every nail or mark of a check that stands further off than its doubt, with the move that mends it."""
    for name in act["moves"]:
        off = fit["offsets"][name]
        doubt = network.give_or_take(fit, name)
        if abs(off) > max(doubt, LEAST):
            way = direction(doc["yard"], name)
            by = [0.0 - off * way[0], 0.0 - off * way[1]]
            record["moves"].append({"point": name, "by": by, "amount": abs(off), "doubt": doubt})


def direction(yard, name):
    """Unit vector along which an unknown grows: a nail's board, a flag's string."""
    point = yard["points"][name]
    if point["kind"] == "nail":
        return point["board"]
    a = network.place(yard, {}, yard["strings"][point["string"]]["from"])
    b = network.place(yard, {}, yard["strings"][point["string"]]["to"])
    run = square.length(b[0] - a[0], b[1] - a[1])
    if point.get("back", False) is True:
        run = 0.0 - run
    return [(b[0] - a[0]) / run, (b[1] - a[1]) / run]


def closing_message(fit, act, record, said):
    """What a closed check says: holds, or leave it with what the tape cannot see."""
    if record["unsure"]:
        return {"key": "walk.unsure", "slots": {}}
    if len(act["moves"]) == 0:
        return said
    most = 0.0
    worst = act["moves"][0]
    for name in act["moves"]:
        if abs(fit["offsets"][name]) > most:
            most = abs(fit["offsets"][name])
            worst = name
    slots = {"off": most, "doubt": network.give_or_take(fit, worst)}
    if most < LEAST / 2.0:
        return {"key": "walk.holds", "slots": slots}
    return {"key": "walk.leave", "slots": slots}


def shape_message(state, act, record):
    """For a check of widths and diagonals: the name of the shape found; else what the last reading said."""
    shape = act.get("shape", None)
    if shape is None or is_unsure(state, act):
        return record["said"]
    far = reading_of(state, act["pulls"][0])["inches"]
    first = reading_of(state, act["pulls"][1])["inches"]
    second = reading_of(state, act["pulls"][2])["inches"]
    found = square.shape(shape["near"], far, first, second, shape["diagonal"], shape["doubt"])
    slots = {"widths": abs(far - shape["near"]), "diagonals": abs(first - second)}
    slots["target"] = shape["diagonal"]
    return {"key": "walk.shape." + found, "slots": slots}


def take_move(doc, state, entry, record):
    """A nail or mark was moved: what was read over it is stale; with no move left the check is pulled again."""
    state["moves"] = state["moves"] + 1
    for one in state["readings"]:
        own = []
        network.unknowns(doc["yard"], one["from"], own)
        network.unknowns(doc["yard"], one["to"], own)
        if entry["point"] in own:
            one["live"] = False
    record["moves"] = [move for move in record["moves"] if move["point"] != entry["point"]]
    record["asked"] = []


def plumb(doc, state, name):
    """A mark on the ground is born where its flag hangs now, with that doubt, and stays there."""
    yard = doc["yard"]
    if yard["points"][name]["kind"] == "ground":
        fit = network.adjust(yard, live_readings(state), [name], [])
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
    return plain_ask("nothing", step_id, 0 - 1, {"key": "walk.nothing", "slots": {}}, state)


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
    return pull_ask(act, step, index, open_pull(state, act), state)


def pull_ask(act, step, index, wanted, state):
    """Ask for one tape distance."""
    for pull in act["pulls"]:
        if same_pull(pull, wanted["from"], wanted["to"]):
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


def answer(doc, state, ask, given):
    """An answer to an ask as the entry it makes: {"status": "ok", "entry"}, or "ask" / "bad" as tape text has them."""
    entry = {"step": ask["step"], "act": ask["act"]}
    kind = ask["ask"]
    if kind == "pull" or kind == "again":
        return pull_answer(doc, ask, given, entry)
    if kind == "heed" or kind == "set" or kind == "move":
        if given.get("done", False) is not True:
            return refused("done")
        entry["kind"] = kind
        if kind != "heed":
            entry["point"] = ask["point"]
        if kind == "move":
            entry["by"] = ask["by"]
        return {"status": "ok", "entry": entry}
    if kind == "stake":
        return stake_answer(ask, given, entry)
    return refused("nothing")


def refused(why):
    """An answer that cannot be taken."""
    return {"status": "bad", "at": 0, "say": {"key": "walk.answer." + why, "slots": {}}}


def is_number(value):
    """True for a finite number (not a truth value)."""
    if isinstance(value, bool):
        return False
    if isinstance(value, int) or isinstance(value, float):
        return value == value and abs(value) < 1e9
    return False


def pull_answer(doc, ask, given, entry):
    """A reading as text or inches, or the word why it cannot be pulled."""
    entry["kind"] = "reading"
    entry["from"] = ask["from"]
    entry["to"] = ask["to"]
    cannot = given.get("cannot", None)
    if cannot is not None:
        if isinstance(cannot, str) and cannot in REASONS:
            entry["cannot"] = cannot
            return {"status": "ok", "entry": entry}
        return refused("cannot")
    text = given.get("reading", None)
    inches = given.get("inches", None)
    if isinstance(text, str):
        held = given.get("held", False) is True
        read = tape.reading(text, ask["target"], doc["job"]["units"], held)
        if read["status"] != "ok":
            return read
        inches = read["inches"]
        entry["text"] = text
        entry["held"] = held
    if is_number(inches) is False:
        return refused("reading")
    if inches <= 0 or inches > doc["yard"]["tape"]["length"] + 12.0:
        return refused("tape")
    entry["inches"] = inches
    return {"status": "ok", "entry": entry}


def stake_answer(ask, given, entry):
    """Staked as marked, or off the mark by [dx, dy]."""
    entry["kind"] = "stake"
    entry["point"] = ask["point"]
    off = given.get("off", None)
    if off is None:
        if given.get("done", False) is not True:
            return refused("stake")
        return {"status": "ok", "entry": entry}
    if isinstance(off, list) is False or len(off) != 2:
        return refused("off")
    if is_number(off[0]) is False or is_number(off[1]) is False:
        return refused("off")
    if square.length(off[0], off[1]) > LONGEST_OFF:
        return refused("off")
    entry["off"] = off
    return {"status": "ok", "entry": entry}


def undo(doc, entries, step_id):
    """Id of the entry that undo strikes in a step: the newest that is neither struck nor a strike; "" when none is."""
    struck = {}
    for entry in entries:
        if entry["kind"] == "strike":
            struck[entry["strikes"]] = True
    found = ""
    for entry in sorted(entries, key=order):
        if entry.get("step", "") == step_id and entry["kind"] != "strike" and entry["kind"] != "note":
            if struck.get(entry["id"], False) is False:
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
            kept["say"] = read_message(one)
            out.append(kept)
    return out


def truth(doc, state):
    """How true the yard is: every point's place and 95 % radius, every footing mark's, and whether all are inside."""
    yard = doc["yard"]
    names = sorted(yard["points"].keys())
    fit = network.adjust(yard, live_readings(state), names, [])
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
