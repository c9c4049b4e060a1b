"""What a person answers, made into the entry that the field book keeps; or why it cannot be taken."""

from . import square, tape

LONGEST_OFF = 48.0
REASONS = ["blocked", "too long", "alone"]


def answer(doc, ask, given):
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
