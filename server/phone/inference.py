"""What can be told of an expression by reading it: surely true or false, surely a float, surely a dict."""
import ast
from collections.abc import Callable, Iterator, Mapping

from server.phone.subset import BOOLEAN_CALLS, BOOLEAN_MATH, BOOLEAN_PREFIXES, WHOLE_MATH

Values = Mapping[str, list[ast.expr]]


def called_name(call: ast.Call) -> str:
    """Name of the function or method that is called, without what stands before the dot; "" for anything odder."""
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def assigned(function: ast.FunctionDef) -> dict[str, list[ast.expr]]:
    """Every name a function's statements give a value, with the values given (none for the variable of a loop)."""
    found: dict[str, list[ast.expr]] = {}
    for node in ast.walk(function):
        for target, value in _bindings(node):
            for name in _names(target):
                given = found.setdefault(name, [])
                if value is not None and isinstance(target, ast.Name):
                    given.append(value)
    return found


def _bindings(node: ast.AST) -> Iterator[tuple[ast.expr, ast.expr | None]]:
    if isinstance(node, ast.Assign):
        yield from ((target, node.value) for target in node.targets)
    elif isinstance(node, ast.AnnAssign):
        yield node.target, node.value
    elif isinstance(node, ast.AugAssign):
        yield node.target, ast.copy_location(ast.BinOp(node.target, node.op, node.value), node)
    elif isinstance(node, ast.For):
        yield node.target, None


def _names(target: ast.expr) -> Iterator[str]:
    if isinstance(target, ast.Name):
        yield target.id
    elif isinstance(target, ast.Tuple):
        for item in target.elts:
            yield from _names(item)


def asked_for_number(node: ast.BoolOp) -> ast.expr | None:
    """What `isinstance(x, int) or isinstance(x, float)` asks about: together they can be told, one alone cannot."""
    asked = sorted(ast.unparse(part) for part in node.values)
    match node:
        case ast.BoolOp(op=ast.Or(), values=[ast.Call(args=[thing, _]), ast.Call()]):
            name = ast.unparse(thing)
            return thing if asked == [f"isinstance({name}, float)", f"isinstance({name}, int)"] else None
    return None


class Inference:
    """Answers about expressions inside one function, from what its names were given."""

    def __init__(self, values: Values, boolean_functions: frozenset[str], parameters: frozenset[str] = frozenset()):
        self._values = {name: given for name, given in values.items() if name not in parameters}
        self._boolean_functions = boolean_functions
        self._asking: set[str] = set()

    def _given(self, name: str, question: Callable[[ast.expr], bool]) -> list[bool]:
        """The answers for each value a name was given; none while that very name is being looked into."""
        if name in self._asking:
            return []
        self._asking.add(name)
        answers = [question(value) for value in self._values.get(name, [])]
        self._asking.discard(name)
        return answers

    def is_boolean(self, node: ast.expr) -> bool:
        """Whether the expression is surely True or False, and so may stand as a value beside `and` and `or`."""
        match node:
            case ast.Constant(value=bool()) | ast.Compare() | ast.UnaryOp(op=ast.Not()):
                return True
            case ast.BoolOp():
                return all(map(self.is_boolean, node.values))
            case ast.IfExp():
                return self.is_boolean(node.body) and self.is_boolean(node.orelse)
            case ast.Call():
                return self._call_is_boolean(node)
            case ast.Name():
                answers = self._given(node.id, self.is_boolean)
                return bool(answers) and all(answers)
        return False

    def _call_is_boolean(self, call: ast.Call) -> bool:
        name = called_name(call)
        return name in (*BOOLEAN_CALLS, *BOOLEAN_MATH, *self._boolean_functions) or name.startswith(BOOLEAN_PREFIXES)

    def is_float(self, node: ast.expr) -> bool:
        """Whether the expression is, on some way through, surely a float: Python would write 4.0, not 4."""
        match node:
            case ast.Constant():
                return isinstance(node.value, float)
            case ast.UnaryOp():
                return self.is_float(node.operand)
            case ast.BinOp():
                return isinstance(node.op, ast.Div) or self.is_float(node.left) or self.is_float(node.right)
            case ast.IfExp():
                return self.is_float(node.body) or self.is_float(node.orelse)
            case ast.Attribute(value=ast.Name(id="math")):
                return True
            case ast.Call():
                return self._call_is_float(node)
            case ast.Name():
                return any(self._given(node.id, self.is_float))
        return False

    def _call_is_float(self, call: ast.Call) -> bool:
        name = called_name(call)
        if isinstance(call.func, ast.Attribute):
            return name not in (*WHOLE_MATH, *BOOLEAN_MATH) and self.is_float(call.func)
        return name in ("abs", "max", "min") and any(map(self.is_float, call.args))

    def is_dict(self, node: ast.expr) -> bool:
        """Whether the expression is, on some way through, surely a dict."""
        match node:
            case ast.Dict() | ast.Call(func=ast.Name(id="dict")):
                return True
            case ast.Name():
                return any(self._given(node.id, self.is_dict))
        return False


def boolean_functions(module: ast.Module) -> frozenset[str]:
    """The module's functions whose every way out returns True or False."""
    functions = [node for node in module.body if isinstance(node, ast.FunctionDef)]
    found: frozenset[str] = frozenset()
    while True:
        more = frozenset(one.name for one in functions if returns_boolean(one, found))
        if more == found:
            return found
        found = more


def returns_boolean(function: ast.FunctionDef, known: frozenset[str]) -> bool:
    """Whether a function ends in a return and each of its returns is surely True or False."""
    inference = Inference(assigned(function), known, parameters(function))
    returns = [node for node in ast.walk(function) if isinstance(node, ast.Return)]
    ends = isinstance(function.body[-1], ast.Return)
    return ends and all(one.value is not None and inference.is_boolean(one.value) for one in returns)


def parameters(function: ast.FunctionDef) -> frozenset[str]:
    """Names of a function's parameters."""
    return frozenset(argument.arg for argument in function.args.args)
