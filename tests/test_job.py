"""Reading a job file: every fault at once, each with its place, a sentence and a way out; and writing it back."""
import copy
import dataclasses
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server import job
from server.errors import JobFaults
from server.job_schema import OPTIONAL, json_schema
from server.model import WAYS, Job, Patch
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
    (changed(way="by eye"), "way", "not-a-choice"),
    (changed(way="Whole frame"), "way", "not-a-choice"),
    (changed(way=True), "way", "not-text"),
    (changed(way=None), "way", "missing"),
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

TUB = {"name": "Hot tub", "x": "2' 0\"", "y": "3' 0\"", "width": "7' 0\"", "out": "7' 0\"", "load": 100}
LUMBER = {
    "species": "hem-fir", "edition": "IRC 2021", "joists": {"size": "2x8", "spacing": 16}, "live": 60, "soil": 2000,
    "frost": "3' 6\"", "height": "4' 0\"", "post": "8x8", "footing": "square", "fastener": "bolt", "patches": [TUB],
}


def with_tub(**parts):
    return changed(patches=[TUB | parts])


ONE_FAULT += [
    (changed(species="oak"), "species", "not-a-choice"),
    (changed(species=""), "species", "not-a-choice"),
    (changed(species=3), "species", "not-text"),
    (changed(edition="IRC 2024"), "edition", "not-a-choice"),
    (changed(joists="2x8"), "joists", "not-object"),
    (changed(joists={"size": "2x8"}), "joists.spacing", "missing"),
    (changed(joists={"spacing": 16}), "joists.size", "missing"),
    (changed(joists={"size": "2x5", "spacing": 16}), "joists.size", "not-a-choice"),
    (changed(joists={"size": "2x8", "spacing": 19}), "joists.spacing", "not-a-choice"),
    (changed(joists={"size": "2x8", "spacing": "16"}), "joists.spacing", "not-whole"),
    (changed(joists={"size": "2x8", "spacing": 16, "wane": 1}), "joists.wane", "unknown-key"),
    (changed(live=39), "live", "whole-range"),
    (changed(live=201), "live", "whole-range"),
    (changed(live=40.5), "live", "not-whole"),
    (changed(soil=499), "soil", "whole-range"),
    (changed(soil=10_001), "soil", "whole-range"),
    (changed(soil="1500 psf"), "soil", "not-whole"),
    (changed(frost=36), "frost", "bare-number"),
    (changed(frost="12' 1/16\""), "frost", "length-long"),
    (changed(height="20' 1/16\""), "height", "length-long"),
    (changed(height="-1'"), "height", "length-bad"),
    (changed(post="5x5"), "post", "not-a-choice"),
    (changed(footing="octagon"), "footing", "not-a-choice"),
    (changed(fastener="nail"), "fastener", "not-a-choice"),
    (changed(patches=TUB), "patches", "not-list"),
    (changed(patches=["tub"]), "patches.0", "not-object"),
    (changed(patches=[TUB] * 13), "patches", "patches-many"),
    (with_tub(name=""), "patches.0.name", "name-empty"),
    (with_tub(name=None), "patches.0.name", "missing"),
    (with_tub(x=2), "patches.0.x", "bare-number"),
    (with_tub(width="1/2\""), "patches.0.width", "length-short"),
    (with_tub(load=39), "patches.0.load", "whole-range"),
    (with_tub(load=501), "patches.0.load", "whole-range"),
    (with_tub(load=100.0), "patches.0.load", "not-whole"),
    (with_tub(colour="red"), "patches.0.colour", "unknown-key"),
    (with_tub(x="19' 1/16\""), "patches.0.width", "patch-outside-width"),
    (with_tub(y="6' 1/16\""), "patches.0.out", "patch-outside-out"),
    (with_tub(load=59) | {"live": 60}, "patches.0.load", "patch-lighter"),
    (changed(beams="choose"), "species", "choose-needs-species"),
    (changed(beams="choose", species="oak"), "species", "not-a-choice"),
    (changed(beams="any", species="redwood"), "beams", "beams-text"),
    (changed(beams=None), "beams", "missing"),
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
            parsed = job.tape.parse(given, "inch") if isinstance(given, str) else {}
            assert field.load_default == parsed.get("inches", given)


@pytest.mark.parametrize(("part", "key", "values"), [
    ("job", "units", job.UNITS), ("job", "string_face", job.STRING_FACES), ("job", "way", WAYS), ("beam", "size", job.SIZES),
    ("job", "crew", (1, 2)), ("beam", "plies", (1, 2, 3)),
])
def test_every_value_the_schema_allows_is_read(part, key, values):
    described = json_schema()["properties"]
    described = described if part == "job" else described["beams"]["items"]["properties"]
    allowed = described[key].get("enum") or list(range(described[key]["minimum"], described[key]["maximum"] + 1))
    assert tuple(allowed) == tuple(values)
    for value in values:
        assert job.read(changed(**{key: value}) if part == "job" else with_beam(**{key: value}))


def test_the_way_is_string_by_string_unless_the_file_says_whole_frame():
    assert job.read(GOOD).way == "string by string"
    assert said(GOOD) == said(changed(way="string by string")) == {}
    whole = job.read(changed(way="whole frame"))
    assert whole.way == "whole frame"
    assert said(changed(way="whole frame")) == {"way": "whole frame"}
    assert job.read(job.write(whole)) == whole


# Lumber and loads

def said(spec):
    """What a job is written back with beyond the parts every job file has."""
    return {key: value for key, value in job.write(job.read(spec)).items() if key not in GOOD}


def test_lumber_and_loads_become_the_jobs_own():
    read = job.read(changed(**LUMBER))
    assert (read.species, read.edition, read.joist_size, read.joist_spacing) == ("hem-fir", "IRC 2021", "2x8", 16)
    assert (read.live, read.soil, read.frost, read.height) == (60, 2000, 42.0, 48.0)
    assert (read.post, read.footing, read.fastener) == ("8x8", "square", "bolt")
    assert read.patches == (Patch("Hot tub", 24.0, 36.0, 84.0, 84.0, 100),)


def test_a_file_that_says_nothing_of_lumber_reads_as_before_and_is_written_as_before():
    read = job.read(GOOD)
    usual = {field.name: field.default for field in dataclasses.fields(Job) if field.default is not dataclasses.MISSING}
    assert {name: getattr(read, name) for name in usual} == usual
    assert said(GOOD) == {}
    assert not read.open


def test_only_what_is_not_usual_is_written():
    assert said(changed(**LUMBER)) == LUMBER
    usual = {"edition": "IRC 2015", "live": 40, "soil": 1500, "frost": "0'", "post": "6x6",
             "footing": "round", "fastener": "lag screw", "patches": []}
    assert said(changed(**usual)) == {}


@pytest.mark.parametrize("key", sorted(LUMBER))
def test_each_part_of_lumber_and_loads_is_written_back_alone(key):
    assert said(changed(**{key: LUMBER[key]})) == {key: LUMBER[key]}


def test_a_job_may_leave_its_beams_open_and_says_so():
    read = job.read(changed(beams="choose", species="redwood"))
    assert (read.beams, read.open) == ((), True)
    assert job.write(read)["beams"] == "choose"
    assert job.read(job.write(read)) == read


def test_an_open_job_has_its_other_faults_told_too():
    spec = changed(beams="choose", tape="12'", live=7, patches=[TUB | {"x": "25'"}, 4], joists={"size": "2x2"})
    assert faults_of(spec) == {
        ("species", "choose-needs-species"), ("tape", "tape-half"), ("live", "whole-range"),
        ("patches.0.width", "patch-outside-width"), ("patches.1", "not-object"), ("joists.size", "not-a-choice"),
        ("joists.spacing", "missing"),
    }


@pytest.mark.parametrize("gap", [None, 7])
def test_a_row_that_is_none_does_not_shift_the_places_of_the_rest(gap):
    assert ("patches.1.width", "patch-outside-width") in faults_of(changed(patches=[gap, TUB | {"x": "25'"}]))
    beams = [gap, BEAM | {"setback": "14'"}, BEAM | {"setback": "5'"}]
    assert ("beams.1.setback", "setback-outside") in faults_of(changed(beams=beams))


def test_the_limits_of_lumber_and_loads_are_inside():
    edge = TUB | {"x": "19'", "y": "6'", "load": 500}
    least = job.read(changed(live=40, soil=500, frost="0'", patches=[edge, TUB | {"width": "1\"", "load": 40}]))
    assert (least.soil, least.patches[0].x, least.patches[1].width) == (500, 228.0, 1.0)
    most = job.read(changed(live=200, soil=10_000, frost="12'", height="20'", patches=[TUB | {"load": 200}] * 12))
    assert (most.live, most.soil, most.frost, most.height, len(most.patches)) == (200, 10_000, 144.0, 240.0, 12)


MILLIMETRES = st.integers(1, 2000)


@given(MILLIMETRES, MILLIMETRES, st.sampled_from(job.UNITS))
def test_a_patch_that_ends_on_the_decks_edge_still_does_when_written(x, width, units):
    """Written lengths are rounded to a millionth of an inch; the sum of two may not push a patch off the deck."""
    patch = TUB | {"x": f"{x} mm", "y": "0'", "width": f"{width + 25} mm"}
    spec = changed(units=units, width=f"{x + width + 25 + 1300} mm", beams="choose", species="redwood")
    read = job.read(spec | {"patches": [patch | {"x": f"{x + 1300} mm"}]})
    again = job.read(job.write(read)).patches[0]
    assert (again.x, again.width) == pytest.approx((read.patches[0].x, read.patches[0].width), abs=1e-6)


@given(st.sampled_from([*sorted(LUMBER), "beams"]), JSON)
def test_anything_said_of_lumber_is_read_or_faulted_with_words(key, value):
    read = read_or_fault(changed(**LUMBER) | {key: value})
    assert read is None or job.read(job.write(read)) == read


@given(st.sampled_from(sorted(TUB)), JSON)
def test_any_part_of_a_patch_is_read_or_faulted_with_words(key, value):
    read = read_or_fault(with_tub(**{key: value}))
    assert read is None or job.read(job.write(read)) == read


def test_the_published_schema_names_the_same_lumber_as_the_reader():
    described = json_schema()["properties"]
    compare(job.JoistsSchema(), described["joists"])
    patch = described["patches"]["items"]
    assert set(patch["properties"]) == {field.data_key or name for name, field in job.PatchSchema().fields.items()}
    assert set(patch["required"]) == set(TUB)


@pytest.mark.parametrize("key", ["species", "edition", "post", "footing", "fastener", "live", "soil"])
def test_every_lumber_the_schema_allows_is_read_and_nothing_beyond(key):
    described = json_schema()["properties"][key]
    values = described.get("enum") or [described["minimum"], described["maximum"]]
    for value in values:
        assert getattr(job.read(changed(**{key: value})), key) == value
    if "enum" not in described:
        assert faults_of(changed(**{key: values[0] - 1})) == faults_of(changed(**{key: values[1] + 1}))


def test_the_schema_takes_a_list_of_beams_or_the_one_word_that_needs_a_species():
    described = json_schema()
    assert described["properties"]["beams"]["type"] == ["array", "string"]
    assert described["properties"]["beams"]["pattern"] == f"^{job.CHOOSE}$"
    assert described["if"]["properties"]["beams"] == {"const": job.CHOOSE}
    assert described["then"] == {"required": ["species"]}
