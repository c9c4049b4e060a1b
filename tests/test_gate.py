"""The gate lets the field subset through and refuses the rest, with the line, the reason and a way out."""
import re

import pytest

from server import phone
from server.phone.expressions import Refusal
from server.phone.gate import check
from server.phone.joining import standing_modules
from server.phone.subset import FUNCTIONS, JAVASCRIPT_WORDS, MATH_CONSTANTS, MATH_FUNCTIONS, METHODS, TYPES

ALLOWED = {
    "defaults": "def f(a, b=2, c=None, d='x', e=True):\n    return a",
    "annotations": "from . import tape\n\nSTEP: float = 0.5\n\ndef f(a: float) -> float:\n    b: float = a\n    return b",
    "docstrings": '"""Module."""\n\ndef f():\n    """Function."""',
    "a parameter as a test": "def f(held):\n    if held and not held:\n        return 1\n    return 2 if held else 3",
    "sibling calls": "from . import tape, square\nimport math\n\ndef f(x):\n    return tape.show(math.floor(x), square.UNIT)",
    "sorted keys": "def f(d):\n    for k in sorted(d.keys()):\n        d[k] = d.get(k, 0) + 1",
    "a sort key": "def rank(x):\n    return x\n\ndef f(items):\n    return sorted(items, key=rank, reverse=True)",
    "boolean values": "def is_near(x):\n    return x < 1\n\ndef f(x):\n    return is_near(x) and x == 0 or x",
    "a named truth": "def f(x, y):\n    near = x < 1\n    return near and y",
    "a whole number in text": "import math\n\ndef f(x, word):\n    return f'{math.floor(x)} {word} {len(word)}'",
    "an error caught": "def f(x):\n    try:\n        return x[0]\n    except ValueError:\n        return None",
}

REFUSED = {
    "round": ("def f(x):\n    return round(x)", "round() is not in the field subset"),
    "a class": ("class A:\n    pass", "only imports, constants and functions"),
    "a statement at the top": ("for x in [1]:\n    pass", "only imports, constants and functions"),
    "another import": ("import os", "imports only math and its siblings"),
    "a name from math": ("from math import floor", "imports only math and its siblings"),
    "an import by another name": ("import math as m", "imports only math and its siblings"),
    "a constant given twice": ("A = 1\nA = 2", "one value, once"),
    "a decorator": ("def g(x):\n    return x\n\n@g\ndef f():\n    return 1", "decorators"),
    "keyword only": ("def f(*, a):\n    return a", "plain and positional"),
    "any number of arguments": ("def f(*a):\n    return 1", "plain and positional"),
    "a list as default": ("def f(a=[]):\n    return a", "a default is a constant"),
    "a call by keyword": ("def g(a):\n    return a\n\ndef f():\n    return g(a=1)", "given by position"),
    "a function as value": ("def g():\n    return 1\n\ndef f():\n    return g", "a function is not a value"),
    "a parameter called": ("def f(g):\n    return g()", "g() is not in the field subset"),
    "an unknown name": ("def f():\n    return LIMIT", "does not define"),
    "a loop variable of a comprehension after it": ("def f(a):\n    b = [x for x in a]\n    return x", "does not define"),
    "an attribute": ("def f(a):\n    return a.length", "Attribute is not in the field subset"),
    "unknown math": ("import math\n\ndef f(x):\n    return math.log(x)", "not in the field's math"),
    "unknown math constant": ("import math\n\ndef f():\n    return math.nan", "not in the field's math"),
    "power": ("def f(x):\n    return x ** 2", "Pow is not in the field subset"),
    "or as a value": ("def f(x):\n    return x or 1", "may not be True or False"),
    "a name that is not always a truth": ("def f(x):\n    a = x < 1\n    a = x\n    return a and 1", "may not be True or False"),
    "is between values": ("def f(x, y):\n    return x is y", "None, True and False"),
    "a chain worked out twice": ("def f(x):\n    return 1 < x[0] < 2", "worked out twice"),
    "a step": ("def f(x):\n    return x[::2]", "no step"),
    "a tuple as key": ("def f(x):\n    return x[1, 2]", "cannot be a key"),
    "a number as key": ("def f():\n    return {1: 2}", "cannot be a key"),
    "the key of all keys": ("def f():\n    return {'__proto__': 2}", "cannot be a key"),
    "two loops in a comprehension": ("def f(a):\n    return [y for x in a for y in x]", "one `for`"),
    "a loop over a dict": ("def f():\n    d = {'a': 1}\n    for k in d:\n        pass", "look like numbers first"),
    "a list of a dict": ("def f(x):\n    d = dict(x)\n    return list(d)", "look like numbers first"),
    "keys as they come": ("def f(d):\n    return d.keys()", "write sorted(d.keys())"),
    "a float in text": ("def f(x):\n    y = x / 2\n    return f'{y}'", "a float is written differently"),
    "a constant float in text": ("HALF = 0.5\n\ndef f():\n    return f'{HALF}'", "a float is written differently"),
    "a width in text": ("def f(x):\n    return f'{x:3}'", "no width or conversion"),
    "text formatted": ("def f(x):\n    return '%s' % x", "not formatted with %"),
    "an endless number": ("A = 1e999", "a float must be finite"),
    "a huge whole number": ("A = 9007199254740993", "2**53"),
    "bytes": ("A = b'x'", "bytes is not in the field subset"),
    "two names at once": ("def f():\n    a = b = 1\n    return a + b", "one name gets a value at a time"),
    "a target of attributes": ("def f(a):\n    a.b = 1", "a value goes to a name"),
    "a call on the left of +=": ("def g():\n    return 0\n\ndef f(a):\n    a[g()] += 1", "worked out twice"),
    "a loop's else": ("def f(a):\n    for x in a:\n        pass\n    else:\n        return 1", "a loop has no else"),
    "another error": ("def f():\n    raise KeyError('x')", "only a ValueError"),
    "raise again": ("def f():\n    try:\n        return 1\n    except ValueError:\n        raise", "only a ValueError"),
    "an error by name": ("def f():\n    try:\n        return 1\n    except ValueError as e:\n        return 2", "only `except"),
    "any error": ("def f():\n    try:\n        return 1\n    except:\n        return 2", "only `except"),
    "finally": ("def f():\n    try:\n        return 1\n    finally:\n        return 2", "one except and nothing else"),
    "a line that does nothing": ("def f(x):\n    x < 1", "does nothing"),
    "one half of a number": ("def f(x):\n    return isinstance(x, int)", "cannot tell this type"),
    "a lambda": ("def f():\n    return lambda: 1", "Lambda is not in the field subset"),
    "range as a value": ("def f():\n    return range(3)", "only stands behind `in`"),
    "is_ that answers nothing": ("def is_far(x):\n    if x > 1:\n        return True", "answers True or False"),
    "is_ that answers a number": ("def is_far(x):\n    return x", "answers True or False"),
    "a function named as a method": ("def index(x):\n    return x", "the compiler takes a call"),
    "a capital function": ("def Far(x):\n    return x", "the compiler takes a call"),
    "a builtin hidden": ("def f(len):\n    return len", "hides a function or module"),
    "a module hidden": ("import math\n\ndef f():\n    math = 1\n    return math", "hides a function or module"),
    "the compiler's own name": ("def f(stub1_seq):\n    return stub1_seq", "the compiler makes names"),
    "the runtime's own name": ("def f():\n    py_add = 1\n    return py_add", "the compiler makes names"),
    "a letter outside ASCII": ("def f(größe):\n    return größe", "JavaScript cannot use this name"),
    "code that cannot be read": ("def f(:\n", "syntax"),
}


@pytest.mark.parametrize("name", ALLOWED)
def test_the_subset_passes(name: str) -> None:
    assert check(ALLOWED[name], "field") == []


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_outside_is_refused_with_its_reason(name: str) -> None:
    source, reason = REFUSED[name]
    assert any(reason in str(refusal) for refusal in check(source, "field")), check(source, "field")


@pytest.mark.parametrize("word", sorted(JAVASCRIPT_WORDS))
def test_a_javascript_word_is_no_name(word: str) -> None:
    refused = check(f"def f(a):\n    {word} = a\n", "field")
    assert [refusal.line for refusal in refused] == [2]


def test_a_refusal_says_where_what_why_and_what_instead() -> None:
    assert check("def f(x):\n    y = 1\n    return int(x)", "field") == [
        Refusal(3, "int(x)", "int() is not in the field subset", "use math.floor(x), or read the digits one by one")
    ]


def test_refusals_come_in_the_order_of_their_lines() -> None:
    source = "def f(x):\n    return round(x)\n\ndef g(x):\n    return {x}\n\nA = B\n"
    assert [refusal.line for refusal in check(source, "field")] == [2, 5, 7]


def test_every_field_module_passes() -> None:
    refused = {path.name: check(path.read_text("utf-8"), path.stem) for path in phone.FIELD.glob("*.py")}
    assert {name: [str(one) for one in found] for name, found in refused.items() if found} == {}


def test_all_that_may_be_called_is_there_in_javascript() -> None:
    files = standing_modules()
    math_names = set(re.findall(r"export const (\w+)", files["math.js"]))
    assert math_names == {*MATH_FUNCTIONS, *MATH_CONSTANTS}
    rest = "\n".join(text for name, text in files.items() if name != "math.js")
    exported = set(re.findall(r"export (?:function|const) (\w+)", rest)) | set(re.findall(r"\w+ as (\w+) };", rest))
    assert exported >= ({*FUNCTIONS, *METHODS} - {"dict", "isinstance"}) | set(TYPES.values())
