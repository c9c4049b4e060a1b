"""Every sentence a person reads, by key; a second language is a second file."""
from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from server.field import say


@cache
def words(language: str = "en") -> dict[str, str]:
    """All sentences of a language, key -> text with {slots}."""
    text = files(__package__).joinpath(f"{language}.json").read_text(encoding="utf-8")
    return dict(json.loads(text))


def section(*prefixes: str) -> dict[str, str]:
    """The sentences whose keys start with one of the prefixes."""
    return {key: text for key, text in words().items() if key.startswith(prefixes)}


def sentence(key: str, slots: Mapping[str, Any] | None = None, units: str = "inch") -> str:
    """A key and its slots, as text. Raises KeyError when the key is not in the words."""
    if key not in words():
        raise KeyError(key)
    return str(say.sentence(words(), {"key": key, "slots": dict(slots or {})}, units))
