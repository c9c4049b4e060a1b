"""The walk: a fold over field book entries. What is done, what is asked next, what a reading means.

A document carries the yard and its steps; each step is a list of acts (heed, set, check, seek, stake). There are two
ways through the same yard; what is set and read in one counts in the other. Answers are keys, names and numbers; the
faces make the sentences.
"""

from . import acts, asks, carry, entries, readings, reply, standing, taking, together


def fold(doc, book):
    """The state after all entries of a book, in the order (n, device, id); a struck entry is left out.

    It hangs on the set of the entries alone, not on how they came. Entries of earlier revisions are taken as `carry`
    has them, others not at all.
    """
    return resume(doc, None, book)


def resume(doc, kept, book):
    """What `fold` gives, from a state kept after the first entries of the book: {"ids", "state"}, or None.

    The kept state is gone on with (and changed) when its entries still lead the book and none of them was struck since.
    """
    if kept is not None and is_whole(kept["ids"], book):
        return kept["state"]
    ordered = sorted([entry for entry in book if entries.is_entry(entry)], key=order)
    struck = struck_ids(ordered)
    state = start()
    taken = 0
    if kept is not None and is_lead(kept["ids"], ordered):
        state = kept["state"]
        taken = len(kept["ids"])
    for i in range(taken, len(ordered)):
        advance(doc, state, ordered, struck, i)
    return state


def advance(doc, state, ordered, struck, i):
    """Take the entry at a place of a book in order into the state; `struck` as `struck_ids` gives it."""
    entry = ordered[i]
    if is_repeated(ordered, i):
        return
    if entry["kind"] == "strike":
        together.note(state, entry)
        at = struck[id_key(strikes_of(entry))]
        if at >= 0 and at < i:
            taking.take_strike(doc, state, entry, ordered[at])
    elif struck.get(id_key(entry["id"]), None) is None:
        taking.take(doc, state, entry)
    else:
        together.note(state, entry)


def is_repeated(ordered, i):
    """True for an entry that came twice: it counts once."""
    return i > 0 and ordered[i]["id"] == ordered[i - 1]["id"]


def id_key(text):
    """An id as the key of a dict: never a word that means something by itself."""
    return "e " + text


def is_whole(ids, book):
    """True when these ids are the entries', each once, in whatever order."""
    if len(ids) != len(book):
        return False
    kept = {}
    for one in ids:
        kept[id_key(one)] = True
    for entry in book:
        if id_key(entry["id"]) not in kept:
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
        lead[id_key(ids[i])] = True
    for i in range(len(ids), len(ordered)):
        if ordered[i]["kind"] == "strike" and lead.get(id_key(strikes_of(ordered[i])), False) is True:
            return False
    return True


def struck_ids(ordered):
    """The entries that were struck, by the keys of their ids: the place of each in the order, -1 for none."""
    struck = {}
    for entry in ordered:
        if entry["kind"] == "strike":
            struck[id_key(strikes_of(entry))] = 0 - 1
    if len(struck) > 0:
        for i in range(len(ordered)):
            key = id_key(ordered[i]["id"])
            if key in struck:
                struck[key] = i
    return struck


def strikes_of(entry):
    """The id that a strike strikes; "" where it says none."""
    if isinstance(entry.get("strikes", None), str):
        return entry["strikes"]
    return ""


def order(entry):
    """Sort key of an entry."""
    return entries.order(entry)


def start():
    """The state before any entry."""
    state = {
        "acts": {}, "way": "", "after": {}, "step": "", "last": None, "pulls": 0, "moves": 0,
        "born": {}, "shifts": [], "guess": {}, "marks": {}, "gone": {}, "loose": {}, "knocked": [], "reads": {},
        "readings": [], "cannot": {}, "alone": False, "asked": {}, "sure": {}, "probed": {}, "told": {}, "tells": 0,
    }
    together.start(state)
    return state


def apply(doc, state, entry):
    """Take one entry into the state (changed in place, and returned), as the newest there is."""
    return taking.take(doc, state, entry)


def way_of(doc, state):
    """The way the yard is walked: the one chosen last, else the job's own."""
    return acts.way_of(doc, state)


def is_walked(doc, state, step):
    """True when a step belongs to the way that is walked, and was begun."""
    return acts.is_walked(doc, state, step) is True


def answer(doc, state, ask, given):
    """An answer to an ask as the entry it makes: {"status": "ok", "entry"}, or "ask" / "bad" as tape text has them."""
    return reply.answer(doc, ask, given)


def next_ask(doc, state):
    """The first ask that is still open, in the order of the work; "end" when none is."""
    for step in doc["steps"]:
        if acts.is_walked(doc, state, step):
            ask = open_ask(doc, state, step)
            if ask is not None:
                return ask
    return asks.plain_ask("end", "", 0 - 1, {"key": "walk.end", "slots": {}}, state)


def step_ask(doc, state, step_id):
    """The open ask of one step; "nothing" when all of it is done. Raises ValueError for an unknown step."""
    step = acts.find_step(doc, step_id)
    if step is None:
        raise ValueError("no such step: " + step_id)
    ask = open_ask(doc, state, step)
    if ask is not None:
        return ask
    said = "walk.nothing"
    for i in range(len(step["acts"])):
        if acts.held(state, step_id, i)["unsure"] is True:
            said = "walk.nothing-unsure"
    return asks.plain_ask("nothing", step_id, 0 - 1, {"key": said, "slots": {}}, state)


def open_ask(doc, state, step):
    """The ask of the first act of a step that is not done and has something to ask, or None."""
    for i in range(len(step["acts"])):
        record = acts.held(state, step["id"], i)
        if is_done(state, step["acts"][i], record) is False:
            if record["waits"] == "":
                ask = asks.act_ask(doc, state, step, i, record)
            else:
                ask = set_ask(doc, state, record["waits"])
            if ask is not None:
                return ask
    return None


def set_ask(doc, state, name):
    """The ask that sets a point, in whichever step that is walked; None where none does."""
    for step in doc["steps"]:
        if acts.is_walked(doc, state, step):
            for i in range(len(step["acts"])):
                if step["acts"][i]["act"] == "set" and step["acts"][i]["point"] == name:
                    return asks.act_ask(doc, state, step, i, acts.held(state, step["id"], i))
    return None


def is_done(state, act, record):
    """True when an act is done; a point that is set is set for both ways."""
    if act["act"] == "set":
        return act["point"] in state["born"]
    if act["act"] == "stake":
        return together.is_staked_once(state, act["point"])
    stands = act.get("stands", "")
    if stands != "" and stands not in state["born"]:
        return True  # nothing to tie yet
    return record["done"] is True


def undo(doc, book, step_id):
    """Id of the entry that undo strikes in a step: the newest that counts, not struck and no strike; "" for none."""
    struck = struck_ids(book)
    found = ""
    newest = ""
    for entry in book:
        if entry.get("step", "") == step_id and entry["kind"] != "strike" and entry["kind"] != "note":
            if id_key(entry["id"]) not in struck and order(entry) > newest and carry.taken_as(doc, entry) is not None:
                newest = order(entry)
                found = entry["id"]
    return found


def step_list(doc, state):
    """Every step with its state: done, open, or unsure (closed with a pull that could not be taken)."""
    out = []
    for step in doc["steps"]:
        if acts.is_walked(doc, state, step):
            out.append({"id": step["id"], "title": step["title"], "state": step_state(state, step)})
    return out


def step_state(state, step):
    """done, open, or unsure."""
    now = "done"
    for i in range(len(step["acts"])):
        record = acts.held(state, step["id"], i)
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
    return standing.truth(doc, state, acts.way_of(doc, state))
