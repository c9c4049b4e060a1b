# ruff: noqa: C416, E501, E711, E712, RET502, SIM101, SIM905, B007, B905, UP038
"""Ordinary code of the field subset, each construct once: the gate lets all of it through and both sides answer alike.

Test data (tests/test_phone.py). A function that raises must raise on both sides, by the same name.
"""
import math

LIMIT = 3
WORDS = ["feet", "inches"]
NAMES = {"a": 1, "½": [1, 2], "two words": None}
HALF = 1.0 / 2.0


def double(x):
    return x * 2


def with_default(x, step=2, word="none", nothing=None):
    if nothing is None:
        return [x + step, word]
    return [nothing]


def is_far(x):
    return x > LIMIT


def refuse(text):
    raise ValueError("cannot read " + text)


def constants():
    return [LIMIT, WORDS, NAMES, HALF, math.pi, math.inf > 1e308]


def calls():
    return [double(2), double("ab"), double([1]), with_default(1), with_default(1, 5), with_default(1, 2, "x", 0)]


def tests_of_every_kind():
    out = []
    for x in [0, 1, -1, 0.0, "", "a", [], [0], {}, {"k": 0}, None, True, False]:
        out.append("yes" if x else "no")
        out.append(not x)
        if x and not is_far(1) or x is None:
            out.append("in")
    return out


def comparisons():
    pairs = [[1, 2], [2.0, 2], ["a", "b"], ["a", "A"], [[1, 2], [1, 3]], [[], [0]], ["\ue000", "😀"]]
    return [[a < b, a <= b, a > b, a >= b, a == b, a != b] for a, b in pairs]


def equality():
    d = {"a": [1, {"b": None}]}
    return [d == {"a": [1, {"b": None}]}, d != {"a": [1]}, "1" == 1, 0 == False, None == 0, [] == {}, 1 in [True], "" == []]


def truth_values_as_values():
    a = 1 < 2
    b = a and 3 > 2
    return [a, b, a or b, (1 < 2) and "text", is_far(9) or "near"]


def chain():
    low = 2
    return [1 < low <= 2, 1 < low < 2, 3 > low != 1]


def arithmetic():
    return [7 / 2, 6 / 3, 7 // 2, -7 // 2, 7 % 3, -7 % 3, 7 % -3, -7.5 // 2, 34.3 // 0.7, 0.3 - 0.1 * 3, -(2 + 3), 1 - -1]


def augmented():
    a = 1
    a += 2
    a *= 5
    a -= 1
    a /= 4
    b = [1]
    c = b
    c += [2]
    d = {"n": 1, "l": [[0]]}
    d["n"] += 4
    d["l"][0][0] -= 2
    return [a, b, c, d]


def loops():
    out = []
    for i in range(3):
        i += 10
        out.append(i)
    for j in range(5, 0, -2):
        if j == 3:
            continue
        out.append(j)
    n = 2
    for _ in range(n):
        n = n + 1
    out.append(n)
    for char in "a😀c":
        out.append(char)
    for at, word in enumerate(WORDS):
        out.append([at, word])
    for a, b in zip([1, 2, 3], reversed([4, 5])):
        out.append(a * b)
    while True:
        n -= 1
        if n < 0:
            break
    return [out, n, i, j]


def list_grows_while_read():
    items = [1]
    for item in items:
        if item < 4:
            items.append(item + 1)
    return items


def keys_in_order():
    d = {"10": 1, "9": 2, "b": 3, "a": 4}
    d["1"] = 0
    return [[key, d[key]] for key in sorted(d.keys())] + [[len(d), "9" in d, "8" in d, "toString" in d]]


def dicts():
    key = "k"
    d = {key: 1, "n": {"m": [5]}}
    copy = dict(d)
    copy["k"] = 2
    copy["n"]["m"][0] = 6
    return [d, copy, d.get("k"), d.get("constructor", 7), d.get("toString"), d.get("n", 1)["m"], d["n"]["m"][-1]]


def lists():
    a = [3, 1, 2]
    b = list(a)
    b.extend([9])
    last = b.pop()
    a[0], a[2] = a[2], a[0]
    (x, y, z) = a
    return [a, b, last, x, y, z, a[1:], a[:-1], a[-2:], a[5:], a * 2, [0] * 0, a + b, [1, 2] in [[1, 2]], min(a), max(1, 2.5)]


def comprehensions():
    res = 100
    x = 7
    i0 = [x for x in range(3)]
    pairs = [[1, "a"], [2, "b"]]
    deep = [[i * j + res for j in range(i)] for i in range(3)]
    return [x, i0, deep, [n for n, word in pairs if word != "a"], [word + "!" for n, word in pairs], [c for c in "ab"]]


def sorting():
    words = ["b", "C", "a10", "a9", ""]
    points = [{"n": 2, "w": "x"}, {"n": 10, "w": "y"}, {"n": 2, "w": "a"}]
    by_n = sorted(points, key=lambda p: p["n"])
    back = sorted(points, key=lambda p: [p["n"], p["w"]], reverse=True)
    return [sorted(words), sorted([10, 9, 1.5, -2]), by_n, back, sorted({"b": 1, "a": 2}), sorted(words, key=lambda w: len(w))]


def text():
    s = " Ab,c\u00a0"
    parts = ["a", "b"]
    n = 3
    out = [s.strip(), s.lower(), s.upper(), s.replace("b", "$&"), "abc".replace("", "-"), "a,b,,c".split(","), "".split(",")]
    out.extend([" a  b\tc ".split(), "-".join(parts), s.startswith(" A"), s.endswith("c"), "x" in s, s.find("c"), s.find("z")])
    return out + [f"{n} of {parts[0]}", f"{math.floor(2.5)}", f"{-n}{None}{True}", "", f"{0 * -n}", "\x1c\x85 a \ufeff".strip()]


def wide_characters():
    s = "x😀y🔨"
    return [len(s), s[1], s[2], s[-1], s[1:3], s[:1], s.find("y"), s.find("🔨"), [c for c in s], "😀" in s, s.replace("😀", "-")]


def kinds():
    things = [1, 1.5, True, None, "a", [], {}]
    out = [[isinstance(x, str), isinstance(x, list), isinstance(x, dict), isinstance(x, bool)] for x in things]
    return [out, [isinstance(x, (int, float)) for x in things], [isinstance(x, int) or isinstance(x, float) for x in things]]


def caught():
    out = []
    for word in ["a", "b"]:
        try:
            if word == "b":
                refuse(word)
            out.append(word)
        except ValueError:
            out.append("refused")
    try:
        out.append(math.sqrt(-1))
    except ValueError:
        out.append("no root")
    try:
        a, b = [1, 2, 3]
        out.append(a + b)
    except ValueError:
        out.append("three")
    return out


def sums_of_angles():
    return [math.sin(1), math.cos(1), math.tan(1), math.asin(0.5), math.acos(0.5), math.atan2(-1, -2), math.hypot(3, 4), math.fabs(-2)]


def whole_numbers():
    return [math.floor(-2.5), math.ceil(-0.5), math.ceil(2.1), abs(-3), math.isfinite(math.inf), -0.0]


def raises_its_own():
    return refuse("this")


def raises_missing_key():
    return NAMES["missing"]


def raises_inherited_key():
    return NAMES["toString"]


def raises_inherited_name():
    key = "valueOf"
    return NAMES[key]


def raises_length_key():
    return WORDS["length"]


def raises_index():
    return WORDS[2]


def raises_index_to_set():
    a = [1]
    a[1] = 2
    return a


def raises_zero():
    return 1 / (LIMIT - 3)


def raises_zero_rest():
    return 1 % (LIMIT - 3)


def raises_nothing_plus():
    return NAMES["two words"] + 1


def raises_nothing_less():
    return NAMES["two words"] < 1


def raises_text_and_number():
    return "1" + 1


def raises_text_times_text():
    return "1" * "2"


def raises_minus_text():
    return -"1"


def raises_len_of_nothing():
    return len(None)


def raises_through_nothing():
    return [x for x in None]


def raises_rows():
    return [a for a, b in [[1, 2], [3]]]


def raises_pop():
    return [].pop()


def raises_join():
    return ",".join(["a", 1])


def raises_range():
    return [i for i in range(1.5)]


def raises_floor():
    return math.floor(math.inf)


def raises_in_number():
    return 1 in 2


def raises_min():
    return min([])


def raises_mixed_sort():
    return sorted(["a", 1])
