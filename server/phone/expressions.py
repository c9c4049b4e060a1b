"""The gate for expressions: each allowed node has its method here; every other node is refused by its name."""
import ast
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from server.phone.inference import Inference, asked_for_number
from server.phone.subset import (
    FUNCTIONS,
    INSTEAD,
    MATH_CONSTANTS,
    ONLY_ITERATED,
)

LARGEST = 2**53
OPERATORS = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Mod, ast.FloorDiv)
IDENTITIES = (ast.Is, ast.IsNot)


@dataclass(frozen=True)
class Refusal:
    """One construct the gate does not let through."""

    line: int
    what: str
    why: str
    instead: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.what}: {self.why}; {self.instead}"


@dataclass(frozen=True)
class Names:
    """What a module's code may speak of: its functions, constants, sibling modules and whether it imports math."""

    functions: frozenset[str]
    constants: frozenset[str]
    siblings: frozenset[str]
    imports: frozenset[str]


def shown(node: ast.AST) -> str:
    """The construct as written, cut to a length that fits a message."""
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 60 else text[:57] + "..."


class Expressions:
    """Walks expressions of one function (or of the module's constants) and keeps what it refuses."""

    def __init__(self, names: Names, local: frozenset[str], inference: Inference, refusals: list[Refusal]) -> None:
        self._names = names
        self._scopes = [local]
        self._inference = inference
        self._refusals = refusals

    def refuse(self, node: ast.AST, why: str, instead: str) -> None:
        """Keep a refusal of this node."""
        self._refusals.append(Refusal(getattr(node, "lineno", 0), shown(node), why, instead))

    def refuse_kind(self, node: ast.AST) -> None:
        """Refuse a kind of node that is not in the subset at all."""
        kind = type(node).__name__
        instead = INSTEAD.get(kind, "write it with the constructs the field subset has")
        self.refuse(node, f"{kind} is not in the field subset", instead)

    def value(self, node: ast.expr) -> None:
        """Check an expression that stands as a value."""
        method: Callable[[ast.expr], None] = getattr(self, f"_{type(node).__name__.lower()}", self.refuse_kind)
        method(node)

    def values(self, *nodes: ast.expr | None) -> None:
        """Check several values; what is left out (a bound of a slice) is fine."""
        for node in nodes:
            if node is not None:
                self.value(node)

    def test(self, node: ast.expr) -> None:
        """Check an expression that stands where only its truth matters."""
        if isinstance(node, ast.BoolOp) and asked_for_number(node) is None:
            for part in node.values:
                self.test(part)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            self.test(node.operand)
        else:
            self.value(node)

    def iterated(self, node: ast.expr) -> None:
        """Check what a loop goes through."""
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ONLY_ITERATED:
            self.arguments(node, FUNCTIONS[node.func.id], iterated=node.func.id != "range")
        else:
            self.value(node)
            self._not_a_dict(node)

    def arguments(self, node: ast.Call, count: tuple[int, int] | None, iterated: bool = False) -> None:
        if node.keywords:
            self.refuse(node, "arguments are given by position here", "leave the names out")
        if count is not None and not count[0] <= len(node.args) <= count[1]:
            self.refuse(node, f"takes {count[0]} to {count[1]} arguments here", "leave the rest out")
        for argument in node.args:
            if iterated:
                self.iterated(argument)
            else:
                self.value(argument)

    @contextmanager
    def names(self, *more: str) -> Iterator[None]:
        """Names that are known inside a comprehension or a lambda."""
        self._scopes.append(frozenset(more))
        yield
        self._scopes.pop()

    def _not_a_dict(self, node: ast.expr) -> None:
        if self._inference.is_dict(node):
            self.refuse(node, "JavaScript puts keys that look like numbers first", INSTEAD["keys"])

    def _constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, float) and not math.isfinite(value):
            self.refuse(node, "a float must be finite", "use math.inf")
        elif isinstance(value, int) and abs(value) > LARGEST:
            self.refuse(node, "JavaScript holds whole numbers exactly to 2**53", "use a smaller number, or a float")
        elif isinstance(value, str) and any("\ud800" <= char <= "\udfff" for char in value):
            self.refuse(node, "half a character", "write whole characters")
        elif not (value is None or isinstance(value, str | int | float)):
            self.refuse(node, f"{type(value).__name__} is not in the field subset", "use numbers and text")

    def _name(self, node: ast.Name) -> None:
        if any(node.id in scope for scope in self._scopes) or node.id in self._names.constants:
            return
        if node.id in self._names.functions:
            self.refuse(node, "a function is not a value here", "call it")
        else:
            self.refuse(node, "a name this module does not define", "define it, pass it in, or import its module")

    def _attribute(self, node: ast.Attribute) -> None:
        base = node.value.id if isinstance(node.value, ast.Name) else ""
        if base == "math" and base in self._names.imports:
            if node.attr not in MATH_CONSTANTS:
                self.refuse(node, "not in the field's math", f"use one of {', '.join(MATH_CONSTANTS)}, or call it")
        elif base not in self._names.siblings:
            self.refuse_kind(node)

    def _binop(self, node: ast.BinOp) -> None:
        if not isinstance(node.op, OPERATORS):
            self.refuse(node, f"{type(node.op).__name__} is not in the field subset", "use + - * / // % or math.sqrt")
        elif isinstance(node.op, ast.Mod) and _is_text(node.left):
            self.refuse(node, "text is not formatted with %", INSTEAD["format"])
        self.values(node.left, node.right)

    def _unaryop(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            self.test(node.operand)
        elif isinstance(node.op, ast.USub):
            self.value(node.operand)
        else:
            self.refuse_kind(node)

    def _boolop(self, node: ast.BoolOp) -> None:
        if number := asked_for_number(node):
            self.value(number)
            return
        for part in node.values[:-1]:
            if not self._inference.is_boolean(part):
                self.refuse(node, f"{shown(part)} may not be True or False", "write: a if test else b")
        self.values(*node.values)

    def _compare(self, node: ast.Compare) -> None:
        for operator, right in zip(node.ops, node.comparators, strict=True):
            single = isinstance(right, ast.Constant) and (right.value is None or isinstance(right.value, bool))
            if isinstance(operator, IDENTITIES) and not single:
                self.refuse(node, "`is` compares only with None, True and False here", "write ==")
        if any(not isinstance(middle, ast.Constant | ast.Name) for middle in node.comparators[:-1]):
            self.refuse(node, "the middle of a chain would be worked out twice", "name it first")
        self.values(node.left, *node.comparators)

    def _ifexp(self, node: ast.IfExp) -> None:
        self.test(node.test)
        self.values(node.body, node.orelse)

    def _list(self, node: ast.List | ast.Tuple) -> None:
        self.values(*node.elts)

    _tuple = _list

    def _dict(self, node: ast.Dict) -> None:
        for key in node.keys:
            if key is None:
                self.refuse(node, "** is not in the field subset", "set each key")
            elif isinstance(key, ast.Constant | ast.Tuple) and not _is_key(key):
                self.refuse(node, f"{shown(key)} cannot be a key", "use text keys")
            else:
                self.value(key)
        self.values(*node.values)

    def _subscript(self, node: ast.Subscript) -> None:
        self.value(node.value)
        if isinstance(node.slice, ast.Slice):
            if node.slice.step is not None:
                self.refuse(node, "a slice has no step here", "go through it in a loop, or use reversed()")
            self.values(node.slice.lower, node.slice.upper)
        elif isinstance(node.slice, ast.Tuple):
            self.refuse(node, "a tuple cannot be a key", "use text keys")
        else:
            self.value(node.slice)

    def _listcomp(self, node: ast.ListComp) -> None:
        first = node.generators[0]
        if len(node.generators) > 1 or first.is_async:
            self.refuse(node, "one `for` in a comprehension", "nest two, or write loops")
        names = target_names(first.target)
        if names is None:
            self.refuse(node, "only names stand between for and in", "take the parts out in the loop")
        self.iterated(first.iter)
        with self.names(*(names or [])):
            for condition in first.ifs:
                self.test(condition)
            self.value(node.elt)

    def _joinedstr(self, node: ast.JoinedStr) -> None:
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self._slot(part)

    def _slot(self, part: ast.FormattedValue) -> None:
        if part.conversion != -1 or part.format_spec is not None:
            self.refuse(part.value, "an f-string has no width or conversion here", "work the text out first")
        if self._inference.is_float(part.value):
            self.refuse(part.value, "a float is written differently in JavaScript", "use math.floor(x) first")
        if isinstance(part.value, ast.List | ast.Tuple | ast.Dict | ast.ListComp):
            self.refuse(part.value, "only text and whole numbers are written as text", "join the parts")
        self.value(part.value)


def is_plain(given: ast.arguments) -> bool:
    """Whether parameters are all of the plain kind, given by position."""
    return not (given.vararg or given.kwarg or given.kwonlyargs or given.posonlyargs)


def target_names(target: ast.expr) -> list[str] | None:
    """The names of a loop's target: one name, or a tuple of names; None for anything else."""
    items = target.elts if isinstance(target, ast.Tuple) else [target]
    names = [item.id for item in items if isinstance(item, ast.Name)]
    return names if len(names) == len(items) else None


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _is_key(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value != "__proto__"
