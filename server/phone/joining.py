"""One ES module of many: each compiled field module in a room of its own, what they stand on in front, math beside it.

A phone fetches, checks and starts one file sooner than a dozen. A room is a function called once; it takes Python's
operations from `runtime` by the compiler's names, sees the rooms before it by their names, and returns what it exports.
"""
import re
from collections.abc import Iterable, Mapping
from graphlib import TopologicalSorter
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
RUNTIME = ("runtime.js", "operators.js", "text.js")  # they lean on one another: one room for the three
MATH = "math.js"
STANDING = (*RUNTIME, MATH)
IMPORT = re.compile(r"^import .*$|^export \* from .*$", re.MULTILINE)
EXPORTED = re.compile(r"^export (?=(?:const|function) (\w+))", re.MULTILINE)
RENAMED = re.compile(r"^export \{ (\w+) as (\w+) \};", re.MULTILINE)
MODULE_SYNTAX = re.compile(r"^\s*(?:import|export)\b", re.MULTILINE)


class Compiled(NamedTuple):
    """A field module as JavaScript: the siblings it calls, its operations {name here: name in runtime}, its exports."""

    siblings: frozenset[str]
    operations: Mapping[str, str]
    script: str
    exports: frozenset[str]


def standing_modules() -> dict[str, str]:
    """What every compiled module stands on: Python's operations, and Python's math."""
    return {name: (HERE / name).read_text("utf-8") for name in STANDING}


def joined(modules: Mapping[str, Compiled]) -> str:
    """The whole as one module that exports each field module by its name. Raises graphlib.CycleError."""
    standing = standing_modules()
    rooms = [_standing_room("runtime", "\n".join(standing[name] for name in RUNTIME))]
    rooms.append(_standing_room("math", standing[MATH], "const { error } = runtime;\n"))
    order = TopologicalSorter({name: sorted(modules[name].siblings) for name in sorted(modules)}).static_order()
    rooms += [_field_room(name, modules[name]) for name in order]
    return "\n".join([*rooms, f"export {{ {', '.join(sorted(modules))} }};\n"])


def _standing_room(name: str, text: str, head: str = "") -> str:
    """A hand-written module, its import lines taken out and its exports returned. Raises ValueError on other syntax."""
    gives = [*EXPORTED.findall(text), *(f"{fresh}: {own}" for own, fresh in RENAMED.findall(text))]
    bare = EXPORTED.sub("", RENAMED.sub("", IMPORT.sub("", text)))
    if left := MODULE_SYNTAX.search(bare):
        raise ValueError(f"{name}: cannot be joined: {left.group()}")
    return _room(name, head + bare, gives)


def _field_room(name: str, module: Compiled) -> str:
    takes = ", ".join(f"{fresh}: {own}" for own, fresh in sorted(module.operations.items()))
    return _room(name, (f"const {{ {takes} }} = runtime;\n" if takes else "") + module.script, sorted(module.exports))


def _room(name: str, text: str, gives: Iterable[str]) -> str:
    return f"const {name} = (() => {{\n{text.strip()}\nreturn {{ {', '.join(gives)} }};\n}})();"
