"""The gate for calls: builtin functions, methods, math, siblings and the module's own functions."""
import ast

from server.phone.expressions import Expressions, is_plain
from server.phone.inference import called_name
from server.phone.subset import FUNCTIONS, INSTEAD, MATH_FUNCTIONS, METHODS, ONLY_ITERATED, TYPES


class Calls(Expressions):
    """Expressions, and the calls among them."""

    def _call(self, node: ast.Call) -> None:
        name = called_name(node)
        if isinstance(node.func, ast.Attribute):
            self._attribute_call(node, node.func)
        elif name == "sorted":
            self._sorted(node)
        elif name == "isinstance":
            self._isinstance(node)
        elif name in ("list", "len", "dict"):
            self.arguments(node, FUNCTIONS[name], iterated=name == "list")
        elif name in ONLY_ITERATED:
            self.refuse(node, f"{name}() only stands behind `in` of a loop", "put it in list()")
        elif name in FUNCTIONS:
            self.arguments(node, FUNCTIONS[name])
        elif name in self._names.functions and not any(name in scope for scope in self._scopes):
            self.arguments(node, None)
        else:
            instead = INSTEAD.get(name, "call a function of this module or of a sibling")
            self.refuse(node, f"{name or 'this'}() is not in the field subset", instead)

    def _attribute_call(self, node: ast.Call, function: ast.Attribute) -> None:
        base = function.value.id if isinstance(function.value, ast.Name) else ""
        if base == "math" and base in self._names.imports:
            if function.attr not in MATH_FUNCTIONS:
                self.refuse(node, "not in the field's math", f"use one of {', '.join(sorted(MATH_FUNCTIONS))}")
            self.arguments(node, None)
        elif base in self._names.siblings:
            self.arguments(node, None)
        elif function.attr in METHODS:
            self.value(function.value)
            self.arguments(node, METHODS[function.attr])
        else:
            instead = INSTEAD.get(function.attr, "use one of " + ", ".join(sorted(METHODS)))
            self.refuse(node, f".{function.attr}() is not in the field subset", instead)

    def _isinstance(self, node: ast.Call) -> None:
        if len(node.args) != 2 or ast.unparse(node.args[1]) not in TYPES:
            self.refuse(node, "JavaScript cannot tell this type", "ask for one of " + "; ".join(TYPES))
        self.values(*node.args[:1])

    def _sorted(self, node: ast.Call) -> None:
        if len(node.args) != 1 or any(word.arg not in ("key", "reverse") for word in node.keywords):
            self.refuse(node, "sorted() takes one list, key and reverse", "leave the rest out")
        for argument in node.args:
            if _is_keys(argument):
                self.values(argument.func.value)  # type: ignore[attr-defined]
            elif isinstance(argument, ast.Call) and called_name(argument) in ONLY_ITERATED:
                self.iterated(argument)
            else:
                self.value(argument)
        for word in node.keywords:
            if word.arg == "key":
                self._sort_key(word.value)
            else:
                self.value(word.value)

    def _sort_key(self, key: ast.expr) -> None:
        if isinstance(key, ast.Name) and key.id in self._names.functions:
            return
        if not isinstance(key, ast.Lambda):
            self.refuse(key, "the key of sorted() is a lambda or a function of this module", "write one")
            return
        if len(key.args.args) != 1 or not is_plain(key.args) or key.args.defaults:
            self.refuse(key, "the key of sorted() takes one argument", "write: lambda item: ...")
        with self.names(*(argument.arg for argument in key.args.args)):
            self.value(key.body)


def _is_keys(node: ast.expr) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "keys"
