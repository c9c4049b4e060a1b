"""Tape text: every form a carpenter writes, and every number shown read back as itself."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.field import tape

INCH, MM = "inch", "millimetre"


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("10' 5 3/8\"", 125.375),
        ("10'-5-3/8\"", 125.375),
        ("10 ft 5-3/8 in", 125.375),
        ("10′ 5⅜″", 125.375),
        ("10' 5 3/8", 125.375),
        ('125 3/8"', 125.375),
        ('125.375"', 125.375),
        ("10.45 ft", 125.4),
        ("10 1/2'", 126.0),
        ("3.18 m", 3180 / 25.4),
        ("3180 mm", 3180 / 25.4),
        ("318 cm", 3180 / 25.4),
        ("3 m 180 mm", 3180 / 25.4),
        ("12' 3\"", 147.0),
        ("5 1/2 in", 5.5),
        ("10 FT. 3 IN.", 123.0),
        ('3/8"', 0.375),
        ("10''", 10.0),
        ("  7 feet  ", 84.0),
        ("0' 11 15/16\"", 11.9375),
    ],
)
def test_reads_every_form(text: str, inches: float) -> None:
    read = tape.parse(text, INCH)
    assert read["status"] == "ok"
    assert read["inches"] == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("113", ["11' 3\"", "9' 5\""]),
        ("1011", ["10' 11\"", "84' 3\""]),
        ("10 5 3/8", ["10' 5 3/8\""]),
        ("5 3/8", ['5 3/8"']),
        ("10.45", ['10 7/16"', "10' 5 3/8\""]),
        ("05", ['5"', "5' 0\""]),
    ],
)
def test_a_bare_number_is_a_question(text: str, choices: list[str]) -> None:
    read = tape.parse(text, INCH)
    assert read["status"] == "ask"
    assert [choice["text"] for choice in read["choices"]] == choices


def test_a_bare_number_in_a_metric_job_is_a_question_too() -> None:
    read = tape.parse("3180", MM)
    assert read["status"] == "ask"
    assert read["choices"][0] == {"inches": 3180 / 25.4, "text": "3180 mm"}


@pytest.mark.parametrize(
    ("text", "at", "why"),
    [
        ("", 0, "empty"),
        ("   ", 0, "empty"),
        ("abc", 0, "unknown"),
        ("10' x", 4, "unknown"),
        ("10' 14\"", 4, "twelve"),
        ("10'' 3", 5, "unknown"),
        ("-3 in", 0, "unknown"),
        ('5 9/8"', 2, "fraction"),
        ('1/3"', 0, "fraction"),
        ('1/0"', 0, "fraction"),
        ("3/ in", 1, "fraction"),
        ("10.5' 3\"", 6, "unknown"),
        ("3,18 m", 1, "unknown"),
        ("3. m", 1, "decimal"),
        ("1e5 in", 1, "unknown"),
        ('12345678901"', 0, "long"),
        ("99999'", 0, "long"),
        ("10' 5\" 3 mm", 7, "unknown"),
        ('10 5" ', 2, "unit"),
        ("3 min", 2, "unknown"),
        ("٣ mm", 0, "unknown"),
        ("12’ 3” 😀", 7, "unknown"),
    ],
)
def test_nonsense_is_refused_with_its_position(text: str, at: int, why: str) -> None:
    read = tape.parse(text, INCH)
    assert (read["status"], read["at"], read["say"]["key"]) == ("bad", at, f"walk.tape.{why}")


@pytest.mark.parametrize(
    ("inches", "shown", "total"),
    [
        (125.375, "10' 5 3/8\"", '125 3/8"'),
        (120.0, "10' 0\"", '120"'),
        (120.3125, "10' 0 5/16\"", '120 5/16"'),
        (0.0, '0"', '0"'),
        (0.5, '1/2"', '1/2"'),
        (1 / 32, '1/16"', '1/16"'),
        (1 / 33, '0"', '0"'),
        (11.97, "1' 0\"", '12"'),
        (-5.25, '-5 1/4"', '-5 1/4"'),
        (-0.01, '0"', '0"'),
    ],
)
def test_shows_sixteenths_reduced_halves_up(inches: float, shown: str, total: str) -> None:
    assert tape.show(inches, INCH) == shown
    assert tape.total(inches, INCH) == total


def test_shows_whole_millimetres_in_a_metric_job() -> None:
    assert tape.show(3180 / 25.4, MM) == "3180 mm"
    assert tape.total(3005 / 25.4, MM) == "3.005 m"
    assert tape.show(-12 / 25.4, MM) == "-12 mm"


def test_every_sixteenth_up_to_100_ft_reads_back_as_itself() -> None:
    for count in range(100 * 192 + 1):
        inches = count / 16
        assert tape.parse(tape.show(inches, INCH), INCH) == {"status": "ok", "inches": inches}
        assert tape.parse(tape.total(inches, INCH), INCH) == {"status": "ok", "inches": inches}


@given(st.integers(0, 30000))
def test_every_millimetre_reads_back_as_itself(count: int) -> None:
    read = tape.parse(tape.show(count / 25.4, MM), MM)
    assert read["inches"] == pytest.approx(count / 25.4, abs=1e-9)


@given(st.text(max_size=40))
def test_any_text_is_a_length_a_question_or_a_place(text: str) -> None:
    read = tape.parse(text, INCH)
    assert read["status"] in ("ok", "ask", "bad")
    if read["status"] == "ok":
        assert 0 <= read["inches"] <= tape.LONGEST
    if read["status"] == "ask":
        assert read["choices"]
    if read["status"] == "bad":
        assert 0 <= read["at"] <= len(text)


@st.composite
def written(draw: st.DrawFn) -> tuple[str, Fraction]:
    """Feet, inches and a fraction written one of the ways carpenters write them, with their exact value."""
    feet, inches = draw(st.integers(0, 99)), draw(st.integers(0, 11))
    bottom = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    top = draw(st.integers(1, bottom - 1))
    foot, inch = draw(st.sampled_from([("'", '"'), ("′", "″"), (" ft", " in"), (" feet", " inches"), ("'", "")]))
    first, second = draw(st.sampled_from([(" ", " "), ("-", "-"), (" ", "-"), ("", " ")]))
    return f"{feet}{foot}{first}{inches}{second}{top}/{bottom}{inch}", 12 * feet + inches + Fraction(top, bottom)


@given(written())
def test_no_part_of_a_written_length_is_lost(length: tuple[str, Fraction]) -> None:
    """Exact fractions as oracle: feet, inches and fraction all count, however they are joined."""
    text, value = length
    assert tape.parse(text, INCH) == {"status": "ok", "inches": float(value)}


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("long by 5/16", 180.3125),
        ("long 5/16", 180.3125),
        ("5/16 long", 180.3125),
        ('short by 1/8"', 179.875),
        ("Short by 1 1/4", 178.75),
        ("short by 3 mm", 180 - 3 / 25.4),
        ("15' 0 5/16\"", 180.3125),
    ],
)
def test_a_reading_against_its_target(text: str, inches: float) -> None:
    assert tape.reading(text, 180.0, INCH, False)["inches"] == pytest.approx(inches, abs=1e-9)


def test_long_by_a_bare_whole_number_is_a_question() -> None:
    read = tape.reading("long by 2", 180.0, INCH, False)
    assert [choice["inches"] for choice in read["choices"]] == [182.0, 204.0]


def test_choices_nearest_the_target_come_first() -> None:
    assert tape.reading("113", 113.0, INCH, False)["choices"][0]["inches"] == 113.0
    assert tape.reading("113", 135.0, INCH, False)["choices"][0]["inches"] == 135.0


def test_held_at_the_burned_inch_takes_it_off() -> None:
    assert tape.reading("15' 1\"", 180.0, INCH, True)["inches"] == 180.0
    assert tape.reading("3280 mm", 3180 / 25.4, MM, True)["inches"] == pytest.approx(3180 / 25.4)
    assert tape.reading('1/2"', 180.0, INCH, True)["say"]["key"] == "walk.tape.negative"
