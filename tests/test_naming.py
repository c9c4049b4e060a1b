"""A reading that does not fit is named by its likely slip: each slip worked out by hand, and the sentences whole."""

from __future__ import annotations

import math
from typing import Any

import pytest

from server import plan
from server.field import naming
from tests.demo import bare, document
from tests.demo import spec as demo_spec
from tests.slips import DECK, FACED, METRIC, MM, kinds, named, texts

# Readings between the wall marks of the inch deck: no string, no beam, no flag is in it.
FIGURES = [
    # 12' 3" less a foot is 11' 3"; a foot less read is a foot more meant.
    (147.0, 135.0, {}, "A foot misread? The tape may have shown 11' 3\", not 12' 3\"."),
    (123.0, 135.0, {}, "A foot misread? The tape may have shown 11' 3\", not 10' 3\"."),
    (147.0, 123.0, {}, "Two feet misread? The tape may have shown 10' 3\", not 12' 3\"."),
    # 11' 3" is 135 in.; its digits run together are 113 in., which is 9' 5". 10' 11" is 131 in., run together 1011 in.
    (135.5, 113.5, {}, "Feet and inches run together? The tape may have shown 113 1/2\", not 11' 3 1/2\"."),
    (113.25, 135.25, {}, "Feet and inches run together? The tape may have shown 11' 3 1/4\", not 113 1/4\"."),
    (131.0, 1011.0, {}, "Feet and inches run together? The tape may have shown 1011\", not 10' 11\"."),
    # Held at the 1-in. line every reading is 1 in. long; taken off for nothing it is 1 in. short; added it is 2 in. long.
    (121.0, 120.0, {}, 'Held at the 1" line and not taken off? The tape then reads 1" long.'),
    (119.0, 120.0, {}, 'Took off 1", but held the tape at its end? The reading is then 1" short.'),
    (122.0, 120.0, {}, 'Held at the 1" line and added it? It has to be taken off.'),
    # Marked as held, 1 in. is off already: 1 in. short if it was not held, 1 in. long if 1 in. was added before.
    (119.0, 120.0, {"held": True}, 'Took off 1", but held the tape at its end? The reading is then 1" short.'),
    (121.0, 120.0, {"held": True}, 'Held at the 1" line and added it? It has to be taken off.'),
    # 53 for 35 in inches alone; 21 for 12 in the feet; 10 in. has no neighbour to swap with (01 is nobody's figure).
    (53.0, 35.0, {}, 'Two digits swapped? The tape may have shown 35", not 53".'),
    (21 * 12 + 4.0, 12 * 12 + 4.0, {}, "Two digits swapped? The tape may have shown 12' 4\", not 21' 4\"."),
    # 9' 4" for 6' 4" is three feet; 10' 9" for 10' 6" three inches; 169 in. for 199 in. thirty.
    (112.0, 76.0, {}, "A 6 for a 9, or a 9 for a 6? The tape may have shown 6' 4\", not 9' 4\"."),
    (129.0, 126.0, {}, "A 6 for a 9, or a 9 for a 6? The tape may have shown 10' 6\", not 10' 9\"."),
    (169.0, 199.0, {}, 'A 6 for a 9, or a 9 for a 6? The tape may have shown 199", not 169".'),
    # Marked as held, the tape showed an inch more than was kept: 54 in. kept as 53 in., 45 in. on the tape is 44 in.
    (53.0, 44.0, {"held": True, "text": '54"'}, 'Two digits swapped? The tape may have shown 45", not 54".'),
    # 16 ft along a fall of 3 ft is sqrt(192² - 36²) = 188.59 in. level: 3 3/8 in. long.
    (192.0, math.sqrt(192**2 - 36**2), {}, "Tape on the slope? It reads as if one end were 3' 0\" higher than the other."),
    (192.0, math.sqrt(192**2 - 27**2), {}, "Tape on the slope? It reads as if one end were 2' 3\" higher than the other."),
]


@pytest.mark.parametrize(("read", "expected", "more", "text"), FIGURES)
def test_a_worked_slip_of_the_tape_is_named(read: float, expected: float, more: dict[str, Any], text: str) -> None:
    assert text in texts(DECK, named(DECK, "WL", "WR", read, expected, more=more))


METRIC_FIGURES = [
    (3281, 3181, {}, "A decimetre misread? The tape may have shown 3181 mm, not 3281 mm."),
    (4181, 3181, {}, "A metre misread? The tape may have shown 3181 mm, not 4181 mm."),
    (318, 3180, {}, "Centimetres taken for millimetres, or the other way? The tape may have shown 3180 mm, not 318 mm."),
    (3180, 318, {}, "Centimetres taken for millimetres, or the other way? The tape may have shown 318 mm, not 3180 mm."),
    (3281, 3181, {}, "Held at the 100 mm line and not taken off? The tape then reads 100 mm long."),
    (3081, 3181, {"held": True}, "Took off 100 mm, but held the tape at its end? The reading is then 100 mm short."),
    (3381, 3181, {}, "Held at the 100 mm line and added it? It has to be taken off."),
    (3581, 3851, {}, "Two digits swapped? The tape may have shown 3851 mm, not 3581 mm."),
    (3691, 3961, {}, "Two digits swapped? The tape may have shown 3961 mm, not 3691 mm."),
    (3651, 3951, {}, "A 6 for a 9, or a 9 for a 6? The tape may have shown 3951 mm, not 3651 mm."),
    # sqrt(4000² - 600²) = 3954.7 mm
    (4000, 3954.7, {}, "Tape on the slope? It reads as if one end were 600 mm higher than the other."),
]


@pytest.mark.parametrize(("read", "expected", "more", "text"), METRIC_FIGURES)
def test_a_worked_slip_of_a_metric_tape_is_named(read: float, expected: float, more: dict[str, Any], text: str) -> None:
    assert text in texts(METRIC, named(METRIC, "WL", "WR", read / MM, expected / MM, more=more))


PLACES = [
    # Leg flag wanted 15 ft out, set at the other leg's 25 ft.
    (DECK, "WL", "SL", 300.0, 180.0, "The triangle's legs swapped? It fits the flag on the left string set at 25' 0\", not at 15' 0\"."),
    # Closing side with the flag at 25 ft too: 25·sqrt(2) ft in place of sqrt(25² + 15²) ft.
    (DECK, "TL", "SL", 300 * math.sqrt(2), math.hypot(300, 180), "The triangle's legs swapped? It fits the flag on the left string set at 25' 0\", not at 15' 0\"."),
    # The right mark stands 25 ft left of the right wall mark; at 15 ft it stands 26 - 15 = 11 ft right of the left one.
    (DECK, "WL", "TR", 132.0, 12.0, "The triangle's legs swapped? It fits the right string's leg mark on the wall set at 15' 0\", not at 25' 0\"."),
    # Beam of two boards, 3 in.: 1 1/2 in. from its centre to its face, square to it from the wall.
    (DECK, "WL", "X1L", 139.5, 138.0, "Pulled to the beam's face, not its centre? Half the beam is 1 1/2\"."),
    # Posts are 6x6, 5 1/2 in. thick: 2 3/4 in. along the beam at a flag, and across it from the wall.
    (DECK, "X1L", "P1-2", 83.25, 86.0, "Pulled to a post's face, not its centre? Half the post is 2 3/4\"."),
    (DECK, "WL", "X1L", 140.75, 138.0, "Pulled to a post's face, not its centre? Half the post is 2 3/4\"."),
    # String on the house face at 136 1/2 in.: the centre is 1 1/2 in. further, the other face 3 in. further.
    (FACED, "WL", "X1L", 138.0, 136.5, "Pulled to the beam's centre, not its face? Half the beam is 1 1/2\"."),
    (FACED, "WL", "X1L", 139.5, 136.5, "Pulled to the beam's other face? The beam is 3\" thick."),
    # A footing's mark lies under the centre wherever the string runs.
    (FACED, "TR", "G1-1", math.hypot(4, 136.5), math.hypot(4, 138), "Pulled to the beam's face, not its centre? Half the beam is 1 1/2\"."),
    (METRIC, "WL", "SL", 4500 / MM, 4000 / MM, "The triangle's legs swapped? It fits the flag on the left string set at 4500 mm, not at 4000 mm."),
    (METRIC, "WL", "X2L", 3100 / MM + 1.5, 3100 / MM, "Pulled to the beam's face, not its centre? Half the beam is 38 mm."),
    (METRIC, "X2L", "P2-2", 2400 / MM - 2.75, 2400 / MM, "Pulled to a post's face, not its centre? Half the post is 70 mm."),
]  # fmt: skip


@pytest.mark.parametrize(("doc", "start", "end", "read", "expected", "text"), PLACES)
def test_a_worked_slip_of_place_is_named(
    doc: dict[str, Any], start: str, end: str, read: float, expected: float, text: str
) -> None:
    assert text in texts(doc, named(doc, start, end, read, expected))
    assert text in texts(doc, named(doc, end, start, read, expected))


def test_half_a_beam_counts_by_the_direction_of_the_pull() -> None:
    """From (0, 0) to the flag at (296, 138) a pull gains about 1 1/2 × 138/326.6 = 0.634 in. on the beam's far face."""
    gain = math.hypot(296, 139.5) - math.hypot(296, 138)
    assert gain == pytest.approx(1.5 * 138 / math.hypot(296, 138), abs=0.01)
    assert "face" in kinds(named(DECK, "WL", "P1-5", math.hypot(296, 138) + gain, math.hypot(296, 138), doubt=0.02))
    assert "face" not in kinds(named(DECK, "WL", "P1-5", math.hypot(296, 138) + 1.5, math.hypot(296, 138), doubt=0.02))


def test_the_beam_and_posts_are_those_of_the_document() -> None:
    """Three boards are 4 1/2 in., half of it 2 1/4; a 4x4 post is 3 1/2 in., half of it 1 3/4."""
    beams = [{**demo_spec()["beams"][0], "plies": 3}]
    stout = document(beams=beams, post="4x4")
    found = texts(stout, named(stout, "WL", "X1L", 140.25, 138.0))
    assert found[0] == "Pulled to the beam's face, not its centre? Half the beam is 2 1/4\"."
    found = texts(stout, named(stout, "X1L", "P1-2", 87.75, 86.0))
    assert found[0] == "Pulled to a post's face, not its centre? Half the post is 1 3/4\"."
    assert "post" not in kinds(named(stout, "X1L", "P1-2", 88.75, 86.0))


def test_a_frame_that_is_not_checked_may_have_either_post() -> None:
    doc = unchecked()
    assert doc["frame"]["members"] == []
    for half, text in ((1.75, '1 3/4"'), (2.75, '2 3/4"')):
        found = texts(doc, named(doc, "X1L", "P1-2", 86 + half, 86.0))
        assert f"Pulled to a post's face, not its centre? Half the post is {text}." in found


def unchecked() -> dict[str, Any]:
    """The document of a job that says nothing of its lumber."""
    return dict(plan.plan("unchecked", bare()).document)


def test_slips_come_in_the_order_of_the_trade() -> None:
    """100 mm long may be a decimetre, or the burn; 3 in. long a 9 for a 6, or, with a doubt of half an inch, much else."""
    assert kinds(named(METRIC, "WL", "WR", 3281 / MM, 3181 / MM))[:2] == ["decimetre", "burn-kept"]
    found = kinds(named(DECK, "X1L", "P1-3", 9.0 + 144, 6.0 + 144, doubt=0.5))
    assert found.index("burn-added") < found.index("six-nine") < found.index("post") < found.index("slope")


def test_the_nearest_of_one_sort_comes_first() -> None:
    """With a doubt of 4 1/2 in., 19 in. long may be two feet (5 in. over) sooner than one (7 in. short)."""
    found = named(DECK, "WL", "WR", 139.0, 120.0, doubt=4.5)
    assert kinds(found)[:2] == ["two-feet", "foot"]
    assert [message["slots"]["meant"] for message in found[:2]] == [115.0, 127.0]


def test_a_slip_is_told_once() -> None:
    """10' 6" is 126 in.: either 6 may be a 9, and both mean 129 in. A post may stand at either end of a pull."""
    assert kinds(named(DECK, "WL", "WR", 126.0, 129.0)) == ["six-nine"]
    assert kinds(named(DECK, "P1-2", "P1-4", 142.75, 140.0)).count("post") == 1


def test_what_was_said_against_the_target_has_no_burn_taken_off() -> None:
    """ "long by 1" is said of the target: the burn is not in it, so an inch long is the burn not taken off."""
    more = {"text": 'long by 1"', "held": True}
    assert "burn-kept" in kinds(named(DECK, "WL", "WR", 121.0, 120.0, more=more))


def test_what_no_slip_explains_is_not_named() -> None:
    """7 1/16 in. short between the wall marks: no foot, no burn, no digit, no slope."""
    assert named(DECK, "WL", "WR", 312.0 - 7.0625, 312.0) == []


def test_a_slope_takes_a_quarter_and_only_lengthens() -> None:
    assert kinds(named(DECK, "WL", "WR", 312.1875, 312.0)) == []
    assert kinds(named(DECK, "WL", "WR", 311.5, 312.0)) == []
    assert kinds(named(DECK, "WL", "WR", 312.3125, 312.0)) == ["slope"]
    assert kinds(named(DECK, "WL", "WR", 312.0, math.sqrt(312**2 - 60**2))) == []


MEANS = [
    (324.0, "It would mean 1' 0\" more from the left wall mark to the right wall mark than the other readings say."),
    (311.5, 'It would mean 1/2" less from the left wall mark to the right wall mark than the other readings say.'),
    (312.01, "It says what the other readings say."),
]


@pytest.mark.parametrize(("read", "text"), MEANS)
def test_a_reading_says_what_it_would_mean(read: float, text: str) -> None:
    message = naming.what_it_means(DECK, {"from": "WL", "to": "WR", "inches": read}, 312.0)
    assert texts(DECK, [message]) == [text]


def test_a_metric_reading_says_what_it_would_mean() -> None:
    message = naming.what_it_means(METRIC, {"from": "WL", "to": "X1L", "inches": 400 / MM}, 500 / MM)
    assert texts(METRIC, [message]) == [
        "It would mean 100 mm less from the left wall mark to the left corner of beam 1's string than the other readings say."
    ]
