"""The acts of a document: which one an entry answers, what the state holds of it, which way is walked."""

from . import after, entries


def way_of(doc, state):
    """The way the yard is walked: the one chosen last, else the job's own."""
    if state["way"] == "":
        return doc["job"]["way"]
    return state["way"]


def is_walked(doc, state, step):
    """True when a step belongs to the way that is walked, and was begun."""
    ways = step.get("ways", [])
    return after.is_begun(state, step) and (len(ways) == 0 or way_of(doc, state) in ways)


def find_step(doc, step_id):
    """A step by its id, or None."""
    for step in doc["steps"]:
        if step["id"] == step_id:
            return step
    return None


def find_act(doc, entry):
    """The act an entry answers, or None."""
    step = find_step(doc, entry.get("step", ""))
    index = entries.act_number(entry)
    if step is None or index < 0 or index >= len(step["acts"]):
        return None
    return step["acts"][index]


def act_record(state, step_id, index):
    """What the state holds of one act, made when first needed."""
    key = step_id + f"/{index}"
    if key not in state["acts"]:
        state["acts"][key] = after.blank()
    return state["acts"][key]


def held(state, step_id, index):
    """What the state holds of one act, to look at: asking changes nothing."""
    key = step_id + f"/{index}"
    if key in state["acts"]:
        return state["acts"][key]
    return after.blank()
