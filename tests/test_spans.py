"""One question about a span: known cells, the calculation beside them, and what is said about what cannot be read."""
import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

from server import span_say, spans
from server.cli import main
from server.span_fields import QUESTIONS, Choice, SpanFaults
from server.words import sentence, words

JOIST = {"species": "southern pine", "size": "2x8", "spacing": "16", "edition": "DCA 6-2012"}
BEAM = {"species": "southern pine", "beam": "2-2x10", "joist-span": "12 ft", "edition": "IRC 2015"}
FOOTING = {"area": "60", "soil": "1500", "edition": "IRC 2021"}
POST = {"species": "southern pine", "post": "6x6", "area": "60", "edition": "IRC 2021"}
LEDGER = {"fastener": "lag screw", "joist-span": "12 ft", "edition": "IRC 2015"}
GOOD = {"joist": JOIST, "beam": BEAM, "footing": FOOTING, "post": POST, "ledger": LEDGER}
ANSWER = {"max_in", "governs", "source", "computed_in", "checks", "level"}


def run(question, *more, **options):
    """`yardtrue span QUESTION` as click runs it."""
    given = [part for name, value in options.items() for part in (f"--{name.replace('_', '-')}", value)]
    return CliRunner().invoke(main, ["span", question, *given, *more])


def asked(question, **options):
    """The JSON of an answer."""
    done = run(question, "--json", **options)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def refused(question, **options):
    """What is said, at exit 2 and without a traceback."""
    done = run(question, **options)
    assert done.exit_code == 2
    assert isinstance(done.exception, SystemExit)
    return done.stderr


def test_a_joist_of_a_known_cell():
    answer = asked("joist", **JOIST)
    assert set(answer) >= ANSWER | {"max_cantilever_in"}
    assert answer["max_in"] == 142
    assert answer["max_cantilever_in"] == 24
    assert answer["source"] | {"cell": ""} == {"edition": "DCA 6-2012", "table": "Table 2", "cell": "", "confidence": "read"}
    assert "2x8" in answer["source"]["cell"]
    assert round(answer["computed_in"]) == 142
    assert answer["level"] == "holds"
    assert answer["cantilever"]["share"] == 0.25


def test_a_joist_for_people():
    said = run("joist", **JOIST).stdout
    for part in ("11' 10\"", "(142\")", "DCA 6-2012", "Table 2", "read in a public copy", "governs", "25%", sentence("desk.standing")):
        assert part in said


def test_a_beam_of_a_known_cell():
    answer = asked("beam", **BEAM)
    assert (answer["max_in"], answer["level"]) == (88, "holds")
    assert answer["source"]["confidence"] == "memory, reproduced"
    assert "7' 4\"" in run("beam", **BEAM).stdout


def test_a_clear_beam_span_is_three_inches_less():
    assert asked("beam", **BEAM | {"edition": "DCA 6-2012"})["max_in"] == 85


def test_a_post_of_a_known_cell():
    assert (asked("post", **POST)["max_in"], asked("post", **POST)["level"]) == (168, "memory")
    pine = asked("post", **POST | {"post": "4x4"})
    assert (pine["max_in"], pine["level"]) == (132, "holds")
    other = asked("post", **POST | {"species": "hem-fir", "post": "4x4"})
    assert (other["max_in"], other["level"]) == (130, "memory")


def test_a_ledger_of_a_known_cell():
    assert [asked("ledger", **LEDGER | {"fastener": one})["max_in"] for one in ("lag screw", "bolt", "bolt with washers")] == [15, 29, 24]


def test_a_footing_of_a_known_cell():
    answer = asked("footing", **FOOTING)
    assert answer["max_in"] is None
    assert (answer["square_in"], answer["round_in"], answer["thickness_in"]) == (17, 19, 6)
    said = run("footing", **FOOTING).stdout
    assert "1' 5\"" in said
    assert "1' 7\"" in said


@pytest.mark.parametrize("question", GOOD)
def test_every_answer_has_the_calculation_beside_it(question):
    answer = asked(question, **GOOD[question])
    assert answer["computed_in"] > 0
    if question != "footing":
        ruling = [one for one in answer["checks"] if one["name"] == answer["governs"]]
        assert ruling
        assert all(one["formula"] for one in answer["checks"])
        # The ruling check is the tightest; the answer by calculation is that, rounded or capped, and nothing wider.
        assert ruling[0]["most_in"] == min(one["most_in"] for one in answer["checks"])
        assert answer["computed_in"] <= ruling[0]["most_in"] + 0.5


@pytest.mark.parametrize(("question", "change"), [
    ("joist", {"edition": "IRC 2021"}), ("joist", {"live": "90"}), ("beam", {"live": "70"}), ("beam", {"beam": "1-2x10"}),
    ("beam", {"joist-span": "20 ft"}), ("footing", {"soil": "1000"}), ("footing", {"live": "100"}), ("footing", {"edition": "DCA 6-2012"}),
    ("post", {"edition": "IRC 2015"}), ("post", {"area": "400"}), ("ledger", {"live": "60"}),
])
def test_beyond_the_tables_an_engineer_decides(question, change):
    answer = asked(question, **GOOD[question] | change)
    assert (answer["source"], answer["level"]) == (None, "engineer")
    assert "engineer decides" in run(question, **GOOD[question] | change).stdout


def test_every_choice_is_answered_in_words():
    """All species, sizes, fasteners and editions: a sentence for each governing check, confidence and cell."""
    for question, fields in QUESTIONS.items():
        usual = {name.replace("-", "_"): value for name, value in GOOD[question].items()}
        for field in fields:
            for name in field.names if isinstance(field, Choice) else ():
                for edition in ("DCA 6-2012", "IRC 2021"):
                    report = span_say.report(spans.ask(question, usual | {"edition": edition} | {field.name: name}))
                    for block in report["blocks"]:
                        told = [block["source"], block["computed"], *block["notes"], *(one["what"] for one in block["checks"] + block["readings"])]
                        assert all("{" not in sentence(one["key"], one["slots"]) for one in told)


@pytest.mark.parametrize(("question", "options"), [
    ("beam", {"species": "red pine", "beam": "1-2x6", "joist-span": "30 ft", "edition": "DCA 6-2012", "live": "1000"}),
    ("post", {"species": "redwood", "post": "4x4", "area": "1900", "edition": "IRC 2021"}),
])
def test_a_load_that_leaves_nothing_says_so(question, options):
    answer = asked(question, **options)
    assert (answer["max_in"], answer["computed_in"], answer["level"]) == (0, 0, "engineer")
    said = run(question, **options).stdout
    assert sentence("cli.span.unknown") in said
    assert "-" not in said.split("at most")[1].splitlines()[0]


def test_a_bare_joist_span_is_a_question():
    said = refused("beam", **BEAM | {"joist-span": "12"})
    assert "“12” has no unit" in said
    assert "12' 0\"" in said
    assert "--joist-span" in said


@pytest.mark.parametrize(("question", "name"), [
    (question, field.name) for question, fields in QUESTIONS.items() for field in fields if isinstance(field, Choice)
])
def test_an_unknown_name_lists_every_choice(question, name):
    said = refused(question, **GOOD[question] | {name.replace("_", "-"): "oak"})
    (field,) = (one for one in QUESTIONS[question] if one.name == name)
    assert "“oak”" in said
    assert all(choice in said for choice in field.names)


def test_everything_wrong_is_said_at_once():
    said = refused("beam", species="oak", beam="2-2x10", joist_span="99 ft", live="many")
    for part in ("--species", "--joist-span", "99' 0\"", "--live", "“many”"):
        assert part in said
    missing = refused("joist")
    assert all(f"--{name}" in missing for name in ("species", "size", "spacing"))
    assert "southern pine" in missing


@pytest.mark.parametrize(("name", "text"), [
    ("area", "0"), ("area", "-60"), ("area", "nan"), ("area", "inf"), ("area", "1e3"), ("area", "6 m2"), ("area", "60 60"),
    ("area", "9" * 400), ("area", "٦٠"), ("soil", "1,50"), ("live", "40 kg"), ("soil", "1.5.0"),
])
def test_a_number_that_cannot_be_read_whole_is_refused(name, text):
    assert f"--{name}:" in refused("footing", **FOOTING | {name: text})


def test_names_and_numbers_as_fingers_vary_them():
    usual = asked("joist", **JOIST)
    for change in ({"species": " Southern  PINE "}, {"size": "2 × 8"}, {"spacing": '16"'}, {"edition": "dca 6-2012"}, {"live": "40 psf"}):
        assert asked("joist", **JOIST | change) == usual
    assert asked("footing", **FOOTING | {"soil": "1,500 psf", "area": "60 sq ft"}) == asked("footing", **FOOTING)
    assert asked("beam", **BEAM | {"joist-span": "144 in"}) == asked("beam", **BEAM)


def test_faults_have_the_one_shape_in_json():
    done = run("beam", "--json", **BEAM | {"joist-span": "12"})
    assert done.exit_code == 2
    error = json.loads(done.stdout)["error"]
    assert set(error) == {"code", "message", "fix", "faults"}
    assert [(one["place"], one["code"]) for one in error["faults"]] == [("joist_span", "length-unclear")]


def test_an_unknown_question_lists_them_all():
    said = refused("rafter")
    assert all(question in said for question in QUESTIONS)


def test_the_help_of_every_question_names_its_choices():
    for question in QUESTIONS:
        said = " ".join(CliRunner().invoke(main, ["span", question, "--help"], terminal_width=400).stdout.split())
        for field in QUESTIONS[question]:
            assert all(name in said for name in getattr(field, "names", ()))
            assert f"--{field.name.replace('_', '-')}" in said


def test_the_program_itself_answers():
    command = [sys.executable, "-m", "server", "span", "joist", "--json"]
    done = subprocess.run([*command, *(part for name, value in JOIST.items() for part in (f"--{name}", value))],
                          capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["max_in"] == 142
    done = subprocess.run([*command, "--size", "2x8"], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (2, "")
    assert {one["place"] for one in json.loads(done.stdout)["error"]["faults"]} == {"species", "spacing"}


def test_a_reader_gives_every_fault():
    with pytest.raises(SpanFaults) as caught:
        spans.ask("post", {"species": "oak", "post": "5x5", "area": "x", "live": "x", "edition": "x"})
    assert [one.place for one in caught.value.faults] == ["species", "post", "area", "edition", "live"]


def test_every_field_has_its_words():
    for name in {field.name for fields in QUESTIONS.values() for field in fields}:
        assert {f"cli.span.option.{name}", f"desk.spans.field.{name}", f"desk.spans.hint.{name}"} <= set(words())
