"""A job rehearsed: the crew's geometry, the bound, the plain crew, what is counted, and the command."""

from __future__ import annotations

import json
import math
from functools import cache

import numpy as np
import pytest
from click.testing import CliRunner
from shapely import LineString, Point

from server import plan, rehearse_cli
from server.cli import main
from server.model import WAYS
from server.places import SEED
from server.rehearse import bound, plain, report, table, tally, walked, wanted, yards
from server.rehearse import crew as crew_module
from server.rehearse.crew import EYE, HAND, Crew, Hands, Reading, hands_of
from server.rehearse.ground import Ground
from server.rehearse.walked import Slips, Walked, count_slips

DECKS = ("26x13", "16x12", "24x20")


@cache
def document(deck: str = "16x12", tape: str = "30'") -> dict:
    spec = json.loads((SEED / "jobs" / f"bench-{deck}.json").read_text(encoding="utf-8"))
    return plan.plan(f"bench-{deck}", spec | {"tape": tape}).document


def a_crew(slips: float = 0.0, deck: str = "16x12") -> Crew:
    yard = document(deck)["yard"]
    return Crew(hands_of(document(deck), slips), Ground(yard["points"], yard["strings"]), "7 0 way", "7 0")


@cache
def a_walk(way: str, slips: float = 0.0) -> tuple[Crew, walked.Walker]:
    """A yard walked to its end, kept open to look into."""
    crew = a_crew(slips)
    walker = walked.Walker(document(), way, crew, set())
    walker.go()
    return crew, walker


def command(*args: str):
    return CliRunner().invoke(main, ["rehearse", *args])


# The crew and its ground


def test_a_readings_noise_is_that_of_the_documents_tape() -> None:
    hands = hands_of(document())
    assert hands.noise(0) == 1 / 16
    assert hands.noise(240) == pytest.approx(math.hypot(1 / 16, 2 / 32))
    assert hands_of(document(), sigma=0.125).noise(0) == 0.125
    crew = a_crew()
    crew.ground.points = {"A": {"kind": "wall", "x": 0.0, "y": 0.0, "from": None}, "B": {"kind": "wall", "x": 120.0, "y": 0.0, "from": None}}
    read = np.array([crew.pull("A", "B").inches for _ in range(2000)])
    assert np.all(read * 16 == np.round(read * 16))
    assert read.mean() == pytest.approx(120, abs=0.008)
    assert read.std() == pytest.approx(math.sqrt(hands.noise(120) ** 2 + 1 / 16**2 / 12), rel=0.05)


def test_slips_are_as_many_and_as_large_as_told() -> None:
    crew = a_crew(slips=0.3)
    for name in ("WL", "WR"):
        crew.set(name)
    readings = [crew.pull("WL", "WR") for _ in range(1500)]
    slips = [one.slip for one in readings if one.slip]
    assert len(slips) / 1500 == pytest.approx(0.3, abs=0.03)
    counts = {kind: sum(1 for slip in slips if slip in kind) / len(slips) for kind in crew.hands.kinds}
    assert set(slips) == {12, -12, 1, -1, 0.5, -0.5, 2}
    assert all(part == pytest.approx(0.25, abs=0.05) for part in counts.values())
    assert all(abs(one.inches - one.slip - one.length) < 0.5 for one in readings)


@pytest.mark.parametrize("way", WAYS)
def test_the_crews_geometry_against_shapely(way: str) -> None:
    """Crossings lie on both strings, flags on theirs as far out as they were pinned, marks under their flags."""
    crew, _ = a_walk(way)
    ground = crew.ground

    def line(string: str, stretch: float = 1.0) -> LineString:
        a, b = (end.at for end in ground.ends(string, len(ground.moves)))
        return LineString([(a.real, a.imag), (a.real + stretch * (b - a).real, a.imag + stretch * (b - a).imag)])

    made = [name for name, point in ground.points.items() if point["kind"] == "crossing" or name in ground.born]
    assert {ground.points[name]["kind"] for name in made} == {"wall", "nail", "crossing", "flag", "ground"}
    for name in made:
        point, at = ground.points[name], ground.spot(name).at
        here = Point(at.real, at.imag)
        if point["kind"] == "crossing":
            met = line(point["strings"][0]).intersection(line(point["strings"][1]))
            assert here.distance(met) < 1e-9
        elif point["kind"] == "flag":
            assert line(point["string"], 2.0).distance(here) < 1e-9
            then = ground.spot(name, ground.born[name]).at
            start = ground.spot(point["from"], ground.born[name]).at
            assert abs(then - start) == pytest.approx(point["reading"] + ground.errors[name], abs=1e-9)
        elif point["kind"] == "nail":
            board = complex(*point["board"])
            assert abs(((at - complex(point["x"], point["y"])) * board.conjugate()).imag) < 1e-9
        elif point["kind"] == "ground":
            under = ground.spot(point["under"], ground.born[name]).at
            assert at - under == pytest.approx(complex(ground.errors[f"{name}:x"], ground.errors[f"{name}:y"]))


def test_what_was_made_stays_when_a_nail_moves_and_a_pinned_flag_goes_with_its_string() -> None:
    crew, _ = a_walk(WAYS[1])
    ground, moves = crew.ground, list(crew.ground.moves)
    before = {name: ground.spot(name).at for name in ("G1-1", "P1-1", "X1L")}
    first = abs(before["P1-1"] - ground.spot("B1L").at)
    ground.moves.append(("NL", 4.0))
    ground.put(f"~{len(moves)}", 0.0, HAND)
    assert ground.spot("G1-1").at == before["G1-1"]
    assert abs(ground.spot("X1L").at - before["X1L"]) > 1
    assert ground.spot("P1-1").at == before["P1-1"]  # pinned to the beam's string, which did not move
    ground.moves[-1] = ("B1L", 4.0)
    assert abs(ground.spot("P1-1").at - before["P1-1"]) > 1
    assert abs(ground.spot("P1-1").at - ground.spot("B1L").at) == pytest.approx(first)
    ground.moves[:] = moves
    del ground.errors[f"~{len(moves)}"], ground.sigmas[f"~{len(moves)}"]


def test_every_crew_of_a_yard_finds_the_same_wall_and_the_same_nails() -> None:
    yard = document()["yard"]
    one = a_crew()
    other = Crew(one.hands, plain.plain_ground(yard, 12.0), "7 0 plain", "7 0")
    next_yard = Crew(one.hands, Ground(yard["points"], yard["strings"]), "7 1 way", "7 1")
    for crew in (one, other, next_yard):
        for name in ("WL", "WR", "NL", "B1L"):
            crew.set(name)
    assert [one.ground.errors[name] for name in ("WR", "NL", "B1L")] == [other.ground.errors[name] for name in ("WR", "NL", "B1L")]
    assert one.ground.errors["NL"] != next_yard.ground.errors["NL"]
    by_eye = []
    for number in range(400):
        crew = Crew(one.hands, Ground(yard["points"], yard["strings"]), "", f"7 {number}")
        crew.set("NL")
        by_eye.append(crew.ground.errors["NL"])
    assert np.std(by_eye) == pytest.approx(EYE, rel=0.1)


# The bound


def by_numpy(crew: Crew, marks: list[str]) -> float:
    """Mean trace from a design matrix by differences at the true geometry, whole and at once."""
    ground = crew.ground
    names = sorted(ground.errors)
    readings = [one for one in crew.readings if one.slip == 0]

    def values(nudge: dict[str, float]) -> np.ndarray:
        moved = Ground(ground.points, ground.strings, {n: e + nudge.get(n, 0) for n, e in ground.errors.items()}, ground.sigmas, ground.moves, ground.born)
        lengths = [abs(moved.spot(one.end, one.time).at - moved.spot(one.start, one.time).at) for one in readings]
        places = [moved.spot(mark).at for mark in marks]
        return np.array(lengths + [part for place in places for part in (place.real, place.imag)])

    step = 1e-4
    jacobian = np.array([(values({name: step}) - values({name: -step})) / (2 * step) for name in names]).T
    rows, places = jacobian[: len(readings)], jacobian[len(readings) :]
    weights = [1 / (1 / 16**2 + (one.length / 120 / 32) ** 2) for one in readings]
    fisher = rows.T @ np.diag(weights) @ rows + np.diag([1 / ground.sigmas[name] ** 2 for name in names])
    left = places @ np.linalg.inv(fisher) @ places.T
    return float(np.trace(left)) / len(marks)


@pytest.mark.parametrize(("way", "slips"), [(WAYS[0], 0.0), (WAYS[1], 0.0), (WAYS[0], 0.2)])
def test_the_bound_against_numpy(way: str, slips: float) -> None:
    crew, _ = a_walk(way, slips)
    marks = walked.marks_of(document())
    assert any(one.slip for one in crew.readings) == (slips > 0)
    found = bound.bound(crew, marks)
    assert found.trace == pytest.approx(by_numpy(crew, marks), rel=1e-6)
    assert len(found.after) == 1 + sum(1 for one in crew.readings if not one.slip)


def test_what_would_be_left_after_the_last_pull_is_what_a_batch_of_least_squares_leaves() -> None:
    """The best estimate carried along, against one solve of all at once with the errors that were truly made."""
    crew, _ = a_walk(WAYS[1])
    ground, marks = crew.ground, walked.marks_of(document())
    names = sorted(ground.errors)
    rows = np.array([[bound.row_of(crew, one).get(name, 0.0) for name in names] for one in crew.readings])
    weights = np.diag([1 / crew.hands.noise(one.length) ** 2 for one in crew.readings])
    noise = np.array([one.inches - one.length for one in crew.readings])
    prior = np.diag([1 / ground.sigmas[name] ** 2 for name in names])
    made = np.array([ground.errors[name] for name in names])
    miss = np.linalg.solve(rows.T @ weights @ rows + prior, rows.T @ weights @ noise - prior @ made)
    worst = max(abs(sum(ground.spot(mark).drift.get(name, 0) * value for name, value in zip(names, miss, strict=True))) for mark in marks)
    assert bound.bound(crew, marks).after[-1] == pytest.approx(worst, abs=1e-9)


# The plain crew


@pytest.mark.parametrize(("deck", "true", "worst"), [("26x13", 0.32, 0.81), ("16x12", 0.39, 0.73), ("24x20", 0.25, 1.01)])
def test_the_plain_crew_is_as_true_as_measured_before(deck: str, true: float, worst: float) -> None:
    """Measured here in an earlier virtual yard of its own; 800 yards leave ±3 % in the share and ±6 % in the worst."""
    hands = hands_of(document(deck))
    found = tally.tally([plain.plain(document(deck), hands, 3, number) for number in range(800)], 0.25)
    assert found["true"] == pytest.approx(true, abs=0.07)
    assert found["worst_95_in"] == pytest.approx(worst, rel=0.12)


def test_a_plain_crew_that_never_errs_lays_out_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nails still start by eye: with a sure tape and sure hands its 3-4-5 brings every mark to its place."""
    monkeypatch.setattr(crew_module, "HAND", 1e-9)
    monkeypatch.setattr(plain, "SEEN", 1e-3)
    sure = Hands(1e-9, 0.0, 1 / 65536, 0.0, ((1.0,),))
    for deck, tape in (("26x13", "30'"), ("26x13", "16'")):
        found = plain.plain(document(deck, tape), sure, 1, 0)
        assert found.moves >= 2
        assert max(found.offs) < 0.01
        assert found.claimed is None
        assert found.trace is None


# What is counted


def event(kind: str, start: str, end: str, slip: float | None) -> tuple[str, frozenset[str], Reading | None]:
    reading = None if slip is None else Reading(start, end, 0, 100 + slip, 100, slip)
    return kind, frozenset((start, end)), reading


def test_slips_of_a_hand_made_walk_are_counted_rightly() -> None:
    events = [
        event("pull", "A", "B", 0.0), event("pull", "A", "C", 1.0), event("pull", "B", "C", 12.0),
        event("again", "C", "A", 0.0),  # finds the inch
        event("again", "A", "B", 0.5),  # a false question, answered with a slip
        event("again", "B", "A", 0.0),  # finds the half inch
        event("refused", "A", "D", 12.0),  # longer than the tape: questioned on the spot
        event("pull", "A", "D", 0.0), event("again", "A", "D", 0.0),  # false
    ]
    assert count_slips(events, 1) == Slips(4, 3, 2, believed=1, large=3, large_questioned=2)
    assert count_slips([], 0) == Slips()


def test_numbers_of_three_yards_made_by_hand() -> None:
    yard = [
        Walked((0.1, 0.2), 10, 4, True, Slips(2, 1, 0, 1, 2, 1), 0.01, (3.0, 0.2)),
        Walked((0.3, 0.0), 12, 6, True, Slips(), 0.01, (3.0, 0.4, 0.1)),
        Walked((0.1, 0.1), 14, 5, False, Slips(1, 1, 2, 0), 0.04, (0.1,)),
    ]
    found = tally.tally(yard, 0.25)
    assert found["true"] == pytest.approx(2 / 3)
    assert found["worst_in"] == [0.2, 0.3, 0.1]
    assert found["worst_95_in"] == pytest.approx(np.percentile([0.2, 0.3, 0.1], 95))
    assert found["pulls"] == {"mean": 12, "most": 14}
    assert found["moves"] == {"mean": 5, "most": 6}
    counted = {"made": 3, "questioned": 2, "false": 2, "believed": 1, "large": 2, "large_questioned": 1}
    assert found["slips"] == counted
    assert found["claimed"] == pytest.approx(2 / 3)
    assert found["wrongly_claimed"] == pytest.approx(1 / 3)
    assert found["rms_in"] == pytest.approx(math.sqrt((0.01 + 0.04 + 0.09 + 0.01 + 0.01) / 6))
    assert found["ratio"] == pytest.approx(found["rms_in"] / math.sqrt(0.02))
    assert found["after_pulls"] == pytest.approx([1 / 3, 2 / 3, 1.0])


def test_a_walks_own_numbers_are_the_yards() -> None:
    crew, walker = a_walk(WAYS[0], 0.2)
    assert len(walker.state["readings"]) == len(walker.kept) == walker.state["pulls"]
    assert walker.state["moves"] == len(crew.ground.moves)
    assert walker.slips().made == sum(1 for one in crew.readings if one.slip) > 0
    again = walked.walked(document(), WAYS[1], hands_of(document()), 7, 0, 0)
    assert again.pulls > 6
    assert max(again.offs) < 1


def test_blocked_pulls_are_said_and_never_taken() -> None:
    crew = a_crew()
    walker = walked.Walker(document(), WAYS[0], crew, walked.blocked_pulls(crew, 4))
    walker.go()
    blocked = {pair for number, pair in enumerate(walker.pairs) if number in walker.blocked}
    assert len(walker.blocked) == 4
    assert blocked
    assert not blocked & {one.pair for one in crew.readings}
    assert set(walker.state["cannot"].values()) == {"", "blocked"}


def test_no_pull_is_longer_than_the_tape_but_by_a_nail_by_eye() -> None:
    for way in WAYS:
        crew = Crew(hands_of(document("26x13", "16'")), Ground(document("26x13", "16'")["yard"]["points"], document("26x13", "16'")["yard"]["strings"]), "1 0", "1 0")
        walked.Walker(document("26x13", "16'"), way, crew, set()).go()
        assert crew.readings
        assert max(one.length for one in crew.readings) < 16 * 12 + 12


def test_the_same_seed_is_the_same_rehearsal_in_one_process_or_several(monkeypatch: pytest.MonkeyPatch) -> None:
    crews = [yards.Crews(document(), (WAYS[1],), hands_of(document(), 0.05), 5)]
    heard: list[tuple[int, int]] = []
    monkeypatch.setattr(yards, "PAYS", 1)
    monkeypatch.setattr(yards.os, "cpu_count", lambda: 2)
    several = yards.walk_yards(crews, 6, lambda done, of: heard.append((done, of)))
    monkeypatch.setattr(yards.os, "cpu_count", lambda: 1)
    assert yards.walk_yards(crews, 6) == several
    assert heard == [(4, 6), (6, 6)]
    assert [len(found) for found in several[0].values()] == [6, 6]
    other = yards.walk_yards([yards.Crews(document(), (), hands_of(document(), 0.05), 6)], 6)
    assert other[0][yards.PLAIN] != several[0][yards.PLAIN]


# The command


def test_the_json_of_a_rehearsal_and_its_table() -> None:
    args = ("bench-16x12", "--yards", "8", "--slips", "0.02", "--seed", "4")
    found = command(*args, "--json")
    assert found.exit_code == 0, found.output
    told = json.loads(found.stdout)
    assert (told["job"], told["yards"], told["slips"], told["seed"], told["blocked"]) == ("bench-16x12", 8, 0.02, 4, 0)
    assert (told["tape_in"], told["tolerance_in"], told["sigma_in"]) == (360, 0.25, 1 / 16)
    assert list(told["crews"]) == [*WAYS, yards.PLAIN]
    for name, crew in told["crews"].items():
        walks = name != yards.PLAIN
        assert set(crew) == {"true", "worst_in", "worst_95_in", "pulls", "moves", "slips", "claimed", "wrongly_claimed", "rms_in", "bound_in", "ratio", "after_pulls"}
        assert len(crew["worst_in"]) == 8
        assert (crew["ratio"] is not None) == (crew["claimed"] is not None) == walks
        assert (crew["true"] > 0.8) == walks
        assert not walks or 0.7 < crew["ratio"] < 1.4
        assert not walks or crew["after_pulls"][0] < 0.1 < 0.8 < crew["after_pulls"][-1]
    assert json.loads(command(*args, "--json").stdout) == told
    lines = table.lines(told)
    assert lines[0].startswith("Bench deck 16 x 12: rehearsed in 8 yards with a tape of 30' 0\", slips in 2 of 100")
    assert all(name in lines[2] for name in ("String by string", "Whole frame", "Plain 3-4-5"))
    assert "common practice, no source" in lines[-1]
    true = next(line for line in lines if line.startswith("Yards true"))
    assert true.split("\"")[1].split("  ")[-1].strip() == table.share(told["crews"][yards.PLAIN]["true"])


def test_a_job_is_found_by_path_or_name_and_another_tape_plans_it_anew() -> None:
    by_path = command(str(SEED / "jobs/bench-26x13.json"), "--yards", "1", "--way", "whole frame", "--json")
    by_name = command("bench-26x13", "--yards", "1", "--way", "Whole  frame", "--json")
    assert json.loads(by_path.stdout) == json.loads(by_name.stdout)
    short = json.loads(command("bench-26x13", "--yards", "1", "--way", "whole frame", "--tape", "16'", "--sigma", "1/8\"", "--json").stdout)
    assert (short["tape_in"], short["sigma_in"]) == (192, 0.125)
    assert list(short["crews"]) == [WAYS[1], yards.PLAIN]
    metric = command("pear-tree-platform", "--yards", "1", "--blocked", "1")
    assert "8000 mm" in metric.stdout
    assert "0.8 mm" in metric.stdout
    assert "1 of the first 12" in metric.stdout


@pytest.mark.parametrize(("args", "said"), [
    (["--yards", "0"], "--yards: 0 is outside 1 to 10,000."),
    (["--yards", "10001"], "--yards: 10001 is outside 1 to 10,000."),
    (["--yards", "many"], "--yards: “many” is not a whole number."),
    (["--slips", "0.51"], "--slips: “0.51” is more than half"),
    (["--slips", "-1"], "--slips: “-1” is not a share"),
    (["--slips", "."], "--slips: “.” is not a share"),
    (["--way", "sideways"], "Use one of: string by string, whole frame, both."),
    (["--sigma", "2"], "--sigma: “2” has no unit."),
    (["--sigma", "2 in"], "--sigma: One sigma of 2\" is outside"),
    (["--sigma", "wide"], "--sigma: “wide”"),
    (["--blocked", "13"], "--blocked: 13 is outside 0 to 12."),
    (["--tape", "9'"], "--tape: A tape of 9' 0\" is too short"),
    (["--tape", "16"], "--tape: “16” has no unit."),
])
def test_bad_input_gets_a_sentence_at_its_option(args: list[str], said: str) -> None:
    found = command("bench-16x12", *args)
    assert found.exit_code == 2
    assert said in found.stderr
    assert found.stdout == ""


def test_every_fault_is_said_at_once_and_in_json() -> None:
    found = command("bench-16x12", "--yards", "0", "--slips", "9", "--way", "x", "--json")
    assert [fault["place"] for fault in json.loads(found.stdout)["error"]["faults"]] == ["yards", "way", "slips"]


def test_a_job_that_cannot_be_planned_or_is_open_or_is_not_there(tmp_path) -> None:
    spec = json.loads((SEED / "jobs/bench-16x12.json").read_text(encoding="utf-8"))
    openly = tmp_path / "open.json"
    openly.write_text(json.dumps(spec | {"beams": "choose", "species": "hem-fir"}), encoding="utf-8")
    assert "frame of this job is still open" in command(str(openly)).stderr
    openly.write_text(json.dumps(spec | {"width": 113}), encoding="utf-8")
    assert "width: The bare number 113" in command(str(openly)).stderr
    openly.write_text("[1", encoding="utf-8")
    assert command(str(openly)).exit_code == 2
    assert "There is no job file nowhere" in command("nowhere").stderr


def test_a_walk_that_never_ends_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(walked, "MOST_ASKS", 5)
    found = command("bench-16x12", "--yards", "1")
    assert found.exit_code == 2
    assert "did not end after 5 asks" in found.stderr


def test_what_takes_long_is_told_on_the_way_and_only_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rehearse_cli, "QUIET", 1e9)
    quiet = command("bench-16x12", "--yards", "5", "--way", "whole frame")
    monkeypatch.setattr(rehearse_cli, "QUIET", 0.0)
    told = command("bench-16x12", "--yards", "5", "--way", "whole frame")
    assert (quiet.stderr, told.stderr) == ("", "4 of 5 yards walked.\n")
    assert told.stdout == quiet.stdout


def test_a_share_is_read_as_a_part_or_in_percent() -> None:
    assert [wanted.read({"slips": text}, "inch").slips for text in ("", "0.02", "2 %", ".5", "50%")] == [0, 0.02, 0.02, 0.5, 0.5]
    assert report.rehearse([], wanted.read({}, "inch")) == []
