"""Tape text as people write it: in the forms of the trade, in other people's words, mistyped, and nonsense."""
import random
from fractions import Fraction

FEET = ("'", "′", "’", " ft", "ft", " ft.", " feet", " foot", "FT")
INCHES = ('"', "″", "”", "''", " in", "in", " in.", " inches", " inch", "IN")
GLYPHS = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 8): "⅛", Fraction(7, 8): "⅞"}
ODD_CHARACTERS = "0123456789 0123456789'\"/.-–′″½⅜ftinmcby,:;+x\t\u00a0\u2009\n\\{}[]é¾İßΣς😀🔨\u0301\ufeff\x1c"
WORDS = ("long", "short", "long by", "by", "about", "none", "-", "ten feet", "10 ft 5 ft", "½'", "3/0", "3/7\"")


def tape_text(rng: random.Random, near: float | None = None) -> str:
    """One text, near a length when that is given."""
    inches = rng.uniform(0.0, 700.0) if near is None else near + rng.gauss(0.0, 0.4)
    made = rng.choice((_carpenters, _carpenters, _carpenters, _metric, _bare, _relative, _nonsense))(rng, abs(inches))
    return _mistyped(rng, made) if rng.random() < 0.35 else made


def _fraction(rng: random.Random, part: Fraction) -> str:
    if part in GLYPHS and rng.random() < 0.4:
        return GLYPHS[part]
    return f"{part.numerator}/{part.denominator}"


def _inches(rng: random.Random, amount: Fraction) -> str:
    """Inches and a fraction without a mark: 5 3/8, 5-3/8, 5⅜, 5.375."""
    count, part = int(amount), amount - int(amount)
    if rng.random() < 0.15:
        return f"{float(amount):.{rng.randrange(1, 5)}f}"
    if part == 0:
        return f"{count}"
    joint = rng.choice((" ", " ", "-", "", "  "))
    return (f"{count}{joint}" if count > 0 else "") + _fraction(rng, part)


def _carpenters(rng: random.Random, inches: float) -> str:
    bottom = rng.choice((2, 4, 8, 16, 16, 16, 32))
    amount = Fraction(round(inches * bottom), bottom)
    if rng.random() < 0.3:
        return _inches(rng, amount) + rng.choice(INCHES)
    feet, rest = divmod(amount, 12)
    joint = rng.choice((" ", " ", "-", "", " - "))
    return f"{feet}{rng.choice(FEET)}{joint}{_inches(rng, rest)}{rng.choice((*INCHES, ''))}"


def _metric(rng: random.Random, inches: float) -> str:
    count = round(inches * 25.4)
    metres, rest = divmod(count, 1000)
    return rng.choice((f"{count} mm", f"{count}mm", f"{count / 1000} m", f"{count / 10} cm", f"{metres} m {rest} mm"))


def _bare(rng: random.Random, inches: float) -> str:
    digits = rng.randrange(1, 5)
    feet, rest = divmod(int(inches), 12)
    return rng.choice((f"{rng.randrange(10**digits)}", f"{inches:.2f}", f"{feet} {rest} 3/8", "113", "1011"))


def _relative(rng: random.Random, inches: float) -> str:
    part = _fraction(rng, Fraction(rng.randrange(1, 16), 16))
    forms = ("long by {}", "short by {}", "long {}", "{} short", 'Short {}"', "LONG by 1 {}", "{} in long", "by {}")
    return rng.choice(forms).format(part)


def _nonsense(rng: random.Random, inches: float) -> str:
    if rng.random() < 0.4:
        return rng.choice(WORDS)
    return "".join(rng.choice(ODD_CHARACTERS) for _ in range(rng.randrange(0, 12)))


def _mistyped(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text) + 1)
    return rng.choice((text[:at] + text[at + 1 :], text[:at] + rng.choice(ODD_CHARACTERS) + text[at:], f" {text} "))
