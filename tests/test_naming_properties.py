"""A slip made at random is found again among the answers, and a reading within its doubt is left alone."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from tests.slips import DECK, JOBS, METRIC, MM, kinds, named, texts

lengths = st.integers(24 * 16, 340 * 16).map(lambda sixteenths: sixteenths / 16)
counts = st.integers(700, 7900)  # millimetres
doubts = st.floats(0.01, 0.3)
within = st.floats(-2.9, 2.9)  # standard deviations


def has_named(doc: dict[str, Any], kind: str, read: float, true: float, doubt: float, off: float, **more: Any) -> bool:
    """Whether a slip is named that turned a true length into what was read, where it shows at all."""
    expected = true + off * doubt
    assume(abs(read - expected) > max(3 * doubt, 0.125) and expected > 0)
    return kind in kinds(named(doc, "WL", "WR", read, expected, doubt=doubt, more=more))


@given(lengths, st.sampled_from([-24, -12, 12, 24]), doubts, within)
def test_a_foot_is_found(true: float, by: float, doubt: float, off: float) -> None:
    assume(true + by > 0)
    assert has_named(DECK, "foot" if abs(by) == 12 else "two-feet", true + by, true, doubt, off)


@given(counts, st.sampled_from([-1000, -100, 100, 1000]), doubts, within)
def test_a_metre_or_decimetre_is_found(true: int, by: int, doubt: float, off: float) -> None:
    assume(true + by > 0)
    kind = "decimetre" if abs(by) == 100 else "metre"
    assert has_named(METRIC, kind, (true + by) / MM, true / MM, doubt, off)


@given(st.integers(1, 28), st.integers(0, 11), st.integers(0, 15), st.booleans(), doubts, within)
def test_feet_and_inches_run_together_are_found(
    feet: int, inches: int, sixteenths: int, back: bool, doubt: float, off: float
) -> None:
    apart, together = feet * 12 + inches + sixteenths / 16, int(f"{feet}{inches}") + sixteenths / 16
    read, true = (together, apart) if back else (apart, together)
    assert has_named(DECK, "run-together", read, true, doubt, off)


@given(counts, st.booleans(), st.floats(0.01, 0.05), within)
def test_centimetres_for_millimetres_are_found(true: int, back: bool, doubt: float, off: float) -> None:
    read, meant = (true * 10, true) if back else (true, true * 10)
    assert has_named(METRIC, "ten", read / MM, meant / MM, doubt, off)


@given(lengths, st.sampled_from([("deck", 1.0), ("metric", 100 / MM)]), st.booleans(), st.booleans(), doubts, within)
def test_a_burn_is_found(
    true: float, job: tuple[str, float], held: bool, long: bool, doubt: float, off: float
) -> None:
    doc, burn = JOBS[job[0]], job[1]
    kind = ("burn-added" if held else "burn-kept") if long else "burn-off"
    assert has_named(doc, kind, true + burn if long else true - burn, true, doubt, off, held=held)


def swapped(text: str) -> set[str]:
    """Each two neighbours exchanged; a figure does not begin with 0."""
    return {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1) if text[i + 1 if i == 0 else 0] != "0"}


def turned(text: str) -> set[str]:
    """One 6 a 9, or one 9 a 6."""
    return {text[:i] + "96"["69".index(digit)] + text[i + 1 :] for i, digit in enumerate(text) if digit in "69"}


def mistakes(count: int) -> list[tuple[str, int]]:
    """What may be read for a figure, with the slip's name."""
    text = str(count)
    made = [("swapped", other) for other in swapped(text)] + [("six-nine", other) for other in turned(text)]
    return [(kind, int(other)) for kind, other in made if int(other) != count]


IN_INCHES = [
    (kind, whole, whole + (other - count) * worth)
    for whole in range(24, 341)
    for worth, count in ((12, whole // 12), (1, whole % 12), (1, whole))
    for kind, other in mistakes(count)
]
IN_MM = [(kind, count, other) for count in range(700, 7900, 7) for kind, other in mistakes(count) if other > 150]


@given(st.sampled_from(IN_INCHES), st.integers(0, 15), st.booleans(), doubts, within)
def test_digits_taken_for_others_are_found(
    mistake: tuple[str, int, int], sixteenths: int, held: bool, doubt: float, off: float
) -> None:
    kind, true, read = mistake
    more = sixteenths / 16 - (1 if held else 0)
    assert has_named(DECK, kind, read + more, true + more, doubt, off, held=held)


@given(st.sampled_from(IN_MM), st.booleans(), doubts, within)
def test_millimetres_taken_for_others_are_found(
    mistake: tuple[str, int, int], held: bool, doubt: float, off: float
) -> None:
    kind, true, read = mistake
    burn = 100 if held else 0
    assert has_named(METRIC, kind, (read - burn) / MM, (true - burn) / MM, doubt, off, held=held)


@given(st.floats(60, 340), st.floats(6, 48), st.sampled_from(["deck", "metric"]), doubts, within)
def test_a_slope_is_found(run: float, fall: float, job: str, doubt: float, off: float) -> None:
    level = math.sqrt(run * run - fall * fall)
    assume(run - (level + off * doubt) >= 0.25)  # less is not named
    assert has_named(JOBS[job], "slope", run, level, doubt, off)


def place(doc: dict[str, Any], name: str) -> tuple[float, float]:
    return doc["yard"]["points"][name]["x"], doc["yard"]["points"][name]["y"]


def pulled(doc: dict[str, Any], start: str, end: str, dx: float = 0.0, dy: float = 0.0) -> float:
    """Reading of a pull on the plan, with its second end off by dx, dy."""
    (a, b), (c, d) = place(doc, start), place(doc, end)
    return math.hypot(c + dx - a, d + dy - b)


def ends(doc: dict[str, Any]) -> list[str]:
    return [name for name, point in doc["yard"]["points"].items() if point["kind"] != "nail"]


# Nobody is asked for a pull of less than 3 ft.
PULLS = [(job, a, b) for job, doc in JOBS.items() for a in ends(doc) for b in ends(doc) if pulled(doc, a, b) >= 36]
Pull = tuple[str, str, str]


@given(st.sampled_from([pull for pull in PULLS if pull[2] in ("SL", "SR", "TL", "TR")]), doubts, within)
def test_a_leg_set_by_the_others_length_is_found(pull: Pull, doubt: float, off: float) -> None:
    doc, (_, other, leg) = JOBS[pull[0]], pull
    side = "left" if leg[1] == "L" else "right"
    corner = place(doc, doc["yard"]["strings"][side]["from"])
    flag, mark = place(doc, "S" + leg[1]), place(doc, "T" + leg[1])
    swing = math.dist(corner, mark) / math.dist(corner, flag)
    here = place(doc, leg)
    share = (swing if leg[0] == "S" else 1 / swing) - 1
    read = pulled(doc, other, leg, share * (here[0] - corner[0]), share * (here[1] - corner[1]))
    expected = pulled(doc, other, leg) + off * doubt
    assume(abs(read - expected) > max(3 * doubt, 0.125))
    assert "legs" in kinds(named(doc, other, leg, read, expected, doubt=doubt))


@given(st.sampled_from([pull for pull in PULLS if pull[2][0] in "XPG"]), st.sampled_from([-1, 1]), doubts, within)
def test_a_beams_face_is_found(pull: Pull, sign: int, doubt: float, off: float) -> None:
    doc, (job, other, end) = JOBS[pull[0]], pull
    faced = job == "faced" and end[0] != "G"
    read = pulled(doc, other, end, 0.0, 1.5 if faced else sign * 1.5)
    expected = pulled(doc, other, end) + off * doubt
    assume(abs(read - expected) > max(3 * doubt, 0.125))
    assert ("centre" if faced else "face") in kinds(named(doc, other, end, read, expected, doubt=doubt))


@given(st.sampled_from([pull for pull in PULLS if pull[2][0] in "PG"]), st.sampled_from([-1, 1]), doubts, within)
def test_a_posts_face_is_found(pull: Pull, sign: int, doubt: float, off: float) -> None:
    doc, (_, other, end) = JOBS[pull[0]], pull
    read = pulled(doc, other, end, sign * 2.75)
    expected = pulled(doc, other, end) + off * doubt
    assume(abs(read - expected) > max(3 * doubt, 0.125))
    assert "post" in kinds(named(doc, other, end, read, expected, doubt=doubt))


@given(st.sampled_from(PULLS), st.floats(0.01, 2), st.floats(-2.99, 2.99), st.booleans())
def test_a_reading_within_its_doubt_names_nothing(pull: Pull, doubt: float, off: float, held: bool) -> None:
    doc, (_, start, end) = JOBS[pull[0]], pull
    true = pulled(doc, start, end)
    assert named(doc, start, end, true + off * doubt, true, doubt=doubt, more={"held": held}) == []


@given(st.sampled_from(PULLS), st.floats(1, 400), st.floats(1, 400), doubts, st.booleans())
def test_every_answer_can_be_said(pull: Pull, read: float, expected: float, doubt: float, held: bool) -> None:
    doc, (_, start, end) = JOBS[pull[0]], pull
    found = texts(doc, named(doc, start, end, read, expected, doubt=doubt, more={"held": held}))
    assert not [text for text in found if "{" in text or "-" in text]
