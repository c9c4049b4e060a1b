"""Reading a job file: every fault at once, each with its place, a sentence and a way out; and writing it back."""
import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server import job
from server.errors import JobFaults
from server.job_schema import OPTIONAL, json_schema
from server.places import SEED

GOOD = {
    "schema": 1, "name": "Fern bank deck", "units": "inch", "width": "26'", "out": "13'", "attached": True,
    "beams": [{"setback": "11' 6\"", "plies": 2, "size": "2x10", "posts": {"count": 5, "cantilever": "1' 6\""}}],
    "string_face": "centre", "tape": "30'", "crew": 2, "room_left": "4'", "room_right": "4'", "tolerance": "1/4\"",
}
BEAM = GOOD["beams"][0]


def changed(**parts):
    return copy.deepcopy(GOOD) | parts


def with_beam(**parts):
    return changed(beams=[copy.deepcopy(BEAM) | parts])


def faults_of(spec):
    with pytest.raises(JobFaults) as caught:
        job.read(spec)
    return {(fault.place, fault.code) for fault in caught.value.faults}


def test_a_job_file_becomes_a_job_in_inches():
    read = job.read(GOOD)
    assert (read.width, read.out, read.tape, read.tolerance) == (312.0, 156.0, 360.0, 0.25)
    assert (read.beams[0].setback, read.beams[0].count, read.beams[0].cantilever) == (138.0, 5, 18.0)


def test_what_may_be_left_out_takes_the_stated_default():
    spec = {key: value for key, value in GOOD.items() if key not in OPTIONAL}
    assert job.read(spec) == job.read(GOOD)


def test_beams_and_posts_come_in_any_order():
    near = copy.deepcopy(BEAM) | {"setback": "1'", "posts": {"at": ["20'", "1'", "10'"]}}
    read = job.read(changed(beams=[BEAM, near]))
    assert [beam.setback for beam in read.beams] == [12.0, 138.0]
    assert read.beams[0].at == (12.0, 120.0, 240.0)


@pytest.mark.parametrize("path", sorted(SEED.glob("*.json")), ids=lambda path: path.stem)
def test_demo_jobs_read_and_write_back(path):
    read = job.read_text(path.read_text(encoding="utf-8"))
    assert job.read(job.write(read)) == read


ONE_FAULT = [
    (changed(width=113), "width", "bare-number"),
    (changed(width=10.5), "width", "bare-number"),
    (changed(width="113"), "width", "length-unclear"),
    (changed(width="12' 3x"), "width", "length-bad"),
    (changed(width=""), "width", "length-bad"),
    (changed(width=True), "width", "length-type"),
    (changed(width=["26'"]), "width", "length-type"),
    (changed(width=None), "width", "missing"),
    (changed(out="101'"), "out", "length-long"),
    (changed(out="3'", beams=[BEAM | {"setback": "2'"}]), "out", "length-short"),
    (changed(schema=2), "schema", "schema-number"),
    (changed(schema="1"), "schema", "not-whole"),
    (changed(crew=3), "crew", "whole-range"),
    (changed(crew=True), "crew", "not-whole"),
    (changed(crew=1.5), "crew", "not-whole"),
    (changed(attached="yes"), "attached", "not-true-false"),
    (changed(attached=1), "attached", "not-true-false"),
    (changed(units="cubit"), "units", "not-a-choice"),
    (changed(units=7), "units", "not-text"),
    (changed(string_face="middle"), "string_face", "not-a-choice"),
    (changed(name=""), "name", "name-empty"),
    (changed(name="\u200e\u202e"), "name", "name-empty"),
    (changed(name="two\nlines"), "name", "name-control"),
    (changed(name="half \ud800"), "name", "name-control"),
    (changed(name="x" * 81), "name", "name-long"),
    (changed(tape="9'"), "tape", "tape-short"),
    (changed(tape="12' 11\""), "tape", "tape-half"),
    (changed(tape="11'", width="20'"), "tape", "tape-setback"),
    (changed(room_left="1' 11\""), "room_left", "room-short"),
    (changed(tolerance="1/32\""), "tolerance", "length-short"),
    (changed(tolerance="2 1/16\""), "tolerance", "length-long"),
    (changed(colour="red"), "colour", "unknown-key"),
    (changed(beams=[]), "beams", "beams-none"),
    (changed(beams={}), "beams", "not-list"),
    (changed(beams=["beam"]), "beams.0", "not-object"),
    (changed(beams=[None]), "beams.0", "missing"),
    (changed(attached=False), "beams", "free-standing-beams"),
    (changed(beams=[BEAM | {"setback": f"{n}'"} for n in (2, 4, 6, 8, 10)]), "beams", "beams-many"),
    (changed(beams=[BEAM, BEAM | {"setback": "10' 6 1/16\""}]), "beams.0.setback", "beams-close"),
    (with_beam(setback="13' 1/16\""), "beams.0.setback", "setback-outside"),
    (with_beam(setback="0'"), "beams.0.setback", "setback-zero"),
    (with_beam(plies=4), "beams.0.plies", "whole-range"),
    (with_beam(size="2x7"), "beams.0.size", "not-a-choice"),
    (with_beam(posts={}), "beams.0.posts", "posts-missing"),
    (with_beam(posts=[]), "beams.0.posts", "not-object"),
    (with_beam(posts={"count": 3}), "beams.0.posts.cantilever", "missing"),
    (with_beam(posts={"cantilever": "1'"}), "beams.0.posts.count", "missing"),
    (with_beam(posts={"count": 1, "cantilever": "1'"}), "beams.0.posts.count", "post-count"),
    (with_beam(posts={"count": 10**400, "cantilever": "1'"}), "beams.0.posts.count", "post-count"),
    (with_beam(posts={"count": 3, "cantilever": "-1'"}), "beams.0.posts.cantilever", "length-bad"),
    (with_beam(posts={"count": 3, "cantilever": "12' 1\""}), "beams.0.posts.cantilever", "posts-do-not-fit"),
    (with_beam(posts={"count": 3, "cantilever": "1'", "at": ["1'", "9'"]}), "beams.0.posts", "posts-two-ways"),
    (with_beam(posts={"at": "1'"}), "beams.0.posts.at", "not-list"),
    (with_beam(posts={"at": ["1'"]}), "beams.0.posts.at", "posts-number"),
    (with_beam(posts={"at": ["1'", "26' 1\""]}), "beams.0.posts.at.1", "post-outside"),
    (with_beam(posts={"at": ["9'", "1'", "9'"]}), "beams.0.posts.at.2", "posts-close"),
    (with_beam(posts={"at": ["1'", 9]}), "beams.0.posts.at.1", "bare-number"),
]


@pytest.mark.parametrize(("spec", "place", "code"), ONE_FAULT, ids=[f"{place}-{code}" for _, place, code in ONE_FAULT])
def test_one_fault_is_the_only_one_and_has_its_place(spec, place, code):
    assert faults_of(spec) == {(place, code)}


@pytest.mark.parametrize("spec", [case[0] for case in ONE_FAULT])
def test_every_fault_has_a_sentence_and_a_way_out_with_no_slot_left_open(spec):
    with pytest.raises(JobFaults) as caught:
        job.read(spec)
    for units in job.UNITS:
        for fault in caught.value.plain(units)["error"]["faults"]:
            assert len(fault["message"]) > 10
            assert len(fault["fix"]) > 5
            assert "{" not in fault["message"].replace("{ }", "") + fault["fix"]


@pytest.mark.parametrize("spec", [None, [], "deck", 3, True])
def test_what_is_no_object_is_said(spec):
    assert faults_of(spec) == {("", "not-object")}


def test_all_faults_come_at_once():
    spec = changed(width="113", crew=9, extra=1, beams=[BEAM | {"setback": "14'", "size": "4x4"}, 7])
    del spec["name"]
    assert faults_of(spec) == {
        ("width", "length-unclear"), ("crew", "whole-range"), ("extra", "unknown-key"), ("name", "missing"),
        ("beams.0.setback", "setback-outside"), ("beams.0.size", "not-a-choice"), ("beams.1", "not-object"),
    }


def test_a_bare_number_is_answered_with_what_it_may_have_meant():
    with pytest.raises(JobFaults) as caught:
        job.read(with_beam(setback=113))
    fault = caught.value.plain()["error"]["faults"][0]
    assert "113" in fault["message"]
    assert "11' 3\"" in fault["fix"]
    assert "9' 5\"" in fault["fix"]


def test_the_limits_themselves_are_inside():
    at_limits = with_beam(setback="13'") | {"tape": "13'", "room_left": "2'", "tolerance": "2\"", "name": "x" * 80}
    assert job.read(at_limits).beams[0].setback == 156.0
    assert job.read(with_beam(posts={"count": 2, "cantilever": "12' 6\""})).beams[0].cantilever == 150.0
    assert job.read(with_beam(posts={"at": ["0'", "26'"]})).beams[0].at == (0.0, 312.0)


def test_faults_speak_in_the_units_of_the_job():
    with pytest.raises(JobFaults) as caught:
        job.read(changed(units="millimetre", room_left="300 mm"))
    assert "610 mm" in caught.value.plain("millimetre")["error"]["faults"][0]["fix"]


def test_a_name_with_marks_and_tags_is_only_text():
    name = "<img src=x onerror=alert(1)> \u202eback"
    assert job.read(changed(name=name)).name == name


@pytest.mark.parametrize(
    ("content", "code", "slots"),
    [
        ('{\n  "name": "x"\n  "width": 3\n}', "broken-json", {"line": "3", "column": "3"}),
        ("", "broken-json", {"line": "1", "column": "1"}),
        ('{"width": NaN}', "json-constant", {"given": "NaN"}),
        ('{"width": "1\'", "width": "2\'"}', "key-twice", {"key": "width"}),
        ("[" * 100_000, "json-too-deep", {}),
        ('{"crew": ' + "9" * 5000 + "}", "json-too-deep", {}),
    ],
)
def test_broken_text_says_where(content, code, slots):
    with pytest.raises(JobFaults) as caught:
        job.read_text(content)
    fault = caught.value.faults[0]
    assert (fault.code, dict(fault.slots)) == (code, slots)
    assert "{" not in fault.plain()["message"]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4), max_leaves=12,
)


def read_or_fault(spec):
    """The job, or None after making sure that its faults can be said and sent."""
    try:
        return job.read(spec)
    except JobFaults as error:
        said = json.dumps(error.plain(), ensure_ascii=False).encode("utf-8")
    assert b'"place"' in said
    return None


@given(st.sampled_from(sorted(GOOD)), JSON)
def test_any_value_anywhere_is_read_or_faulted_with_words(key, value):
    read = read_or_fault(changed(**{key: value}))
    assert read is None or job.read(job.write(read)) == read


@given(JSON)
def test_any_beam_is_read_or_faulted(value):
    read = read_or_fault(changed(beams=[value]))
    assert read is None or len(read.beams) == 1


SIXTEENTHS = st.integers(48 * 16, 1200 * 16).map(lambda count: count / 16)


@given(SIXTEENTHS, st.sampled_from(job.UNITS))
def test_a_written_job_reads_back_the_same(width, units):
    beams = [BEAM | {"posts": {"at": ["1'", "3'"]}}]
    read = job.read(changed(width=f'{width}"', tape="100'", units=units, beams=beams))
    again = job.read(job.write(read))
    assert again.width == pytest.approx(read.width, abs=1e-6)
    assert again.beams == read.beams


def test_the_published_schema_names_the_same_parts_as_the_reader():
    described = json_schema()
    compare(job.JobSchema(), described)
    beam = described["properties"]["beams"]["items"]
    compare(job.BeamSchema(), beam)
    ways = beam["properties"]["posts"]["oneOf"]
    assert set().union(*(way["properties"] for way in ways)) == set(job.PostsSchema().fields)


def compare(schema, described):
    assert set(described["properties"]) == set(schema.fields)
    assert set(described["required"]) == {name for name, field in schema.fields.items() if field.required}
    for name, field in schema.fields.items():
        if "default" in described["properties"][name]:
            given = described["properties"][name]["default"]
            parsed = job.tape.parse(given, "inch")
            assert field.load_default == parsed.get("inches", given)


@pytest.mark.parametrize(("part", "key", "values"), [
    ("job", "units", job.UNITS), ("job", "string_face", job.STRING_FACES), ("beam", "size", job.SIZES),
    ("job", "crew", (1, 2)), ("beam", "plies", (1, 2, 3)),
])
def test_every_value_the_schema_allows_is_read(part, key, values):
    described = json_schema()["properties"]
    described = described if part == "job" else described["beams"]["items"]["properties"]
    allowed = described[key].get("enum") or list(range(described[key]["minimum"], described[key]["maximum"] + 1))
    assert tuple(allowed) == tuple(values)
    for value in values:
        assert job.read(changed(**{key: value}) if part == "job" else with_beam(**{key: value}))
