"""A sentence from its key: words with {slots}, lengths as the tape shows them."""

from . import tape


def sentence(words, message, units):
    """The text of a message {"key", "slots"}.

    A text slot goes in as it is, a number as a length, {"word": key} as that sentence. Raises ValueError when the key
    is not in the words.
    """
    text = words.get(message["key"], None)
    if text is None:
        raise ValueError("no such sentence: " + message["key"])
    slots = message.get("slots", {})
    for name in sorted(slots.keys()):
        value = slots[name]
        text = text.replace("{" + name + "}", slot_text(words, value, units))
    return text


def slot_text(words, value, units):
    """One slot value as text."""
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        return sentence(words, {"key": value["word"], "slots": value.get("slots", {})}, units)
    return tape.show(value, units)
