"""A job whose frame is open: its frames at the desk and in the terminal, one taken into it, and nothing laid out before."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from server import plan
from server.cli import main
from server.errors import FrameOpen
from server.job import read
from server.offer import COLUMNS, row
from server.words import sentence
from tests.demo import spec
from tests.entered import desk_app, entered

OPEN = {"name": "Any frame that fits", "width": "14'", "out": "10'", "beams": "choose", "species": "southern pine"}


def open_spec(**changes: Any) -> dict[str, Any]:
    return spec(**OPEN | changes)


@pytest.fixture
def desk(tmp_path: Path) -> FlaskClient:
    return entered(desk_app(tmp_path))


@pytest.fixture
def saved(desk: FlaskClient) -> str:
    return str(desk.post("/api/jobs", json=open_spec()).json["id"])


def test_a_job_with_an_open_frame_has_no_document() -> None:
    with pytest.raises(FrameOpen):
        plan.plan("any", open_spec())


def test_its_page_is_the_table_of_frames(desk: FlaskClient, saved: str) -> None:
    page = desk.get(f"/jobs/{saved}", follow_redirects=True)
    frames = plan.choose(read(open_spec())).frames
    assert page.status_code == 200
    assert page.text.count('name="frame"') == len(frames) > 0


@pytest.mark.parametrize("by", COLUMNS)
def test_the_table_is_sorted_by_any_column(desk: FlaskClient, saved: str, by: str) -> None:
    page = desk.get(f"/jobs/{saved}/frames?by={by}").text
    order = [int(part.split('"')[0]) for part in page.split('name="frame" value="')[1:]]
    rows = {n: row(n, option)["values"][by] for n, option in enumerate(plan.choose(read(open_spec())).frames, 1)}
    assert sorted(order) == sorted(rows)
    assert [rows[n] for n in order] == sorted(rows.values())


def test_one_click_puts_a_frame_into_the_job(desk: FlaskClient, saved: str) -> None:
    answer = desk.post(f"/jobs/{saved}/frames", data={"frame": "1", "revision": "1"})
    assert answer.status_code == 303
    chosen = desk.get(f"/api/jobs/{saved}").json["spec"]
    assert chosen["beams"] == plan.choose(read(open_spec())).frames[0].spec()["beams"]
    assert desk.get(f"/jobs/{saved}").status_code == 200
    assert [job["id"] for job in desk.get("/phone/jobs/index.json").json["jobs"]].count(saved) == 1


def test_a_number_of_an_older_table_is_asked_again(desk: FlaskClient, saved: str) -> None:
    page = desk.post(f"/jobs/{saved}/frames", data={"frame": "1", "revision": "7"})
    assert page.status_code == 200
    assert "Choose again" in page.text
    assert desk.get(f"/api/jobs/{saved}").json["spec"]["beams"] == "choose"


@pytest.mark.parametrize(("frame", "status"), [("0", 404), ("9999", 404), ("x", 400), ("", 400)])
def test_no_such_frame(desk: FlaskClient, saved: str, frame: str, status: int) -> None:
    assert desk.post(f"/jobs/{saved}/frames", data={"frame": frame, "revision": "1"}).status_code == status


def test_an_open_job_is_not_offered_to_the_phone_and_says_why_it_cannot_be_printed(desk: FlaskClient, saved: str) -> None:
    assert saved not in [job["id"] for job in desk.get("/phone/jobs/index.json").json["jobs"]]
    for path in ("print", "bundle.zip"):
        page = desk.get(f"/jobs/{saved}/{path}")
        assert page.status_code == 409
        assert "still open" in page.text
    assert desk.get("/").text.count("frame to be chosen") == 1


def test_a_deck_that_no_frame_fits_says_what_blocks() -> None:
    choice = plan.choose(read(open_spec(live=200, out="19'", width="40'", tape="50'")))
    assert bool(choice.frames) != bool(choice.blocked)


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    path = tmp_path / "any.json"
    path.write_text(json.dumps(open_spec()), encoding="utf-8")
    return path


def run(*arguments: str) -> Any:
    return CliRunner().invoke(main, list(arguments))


def test_the_terminal_shows_the_same_frames(job_file: Path) -> None:
    told = json.loads(run("plan", str(job_file), "--json").output)
    frames = plan.choose(read(open_spec())).frames
    assert [one["number"] for one in told["frames"]] == list(range(1, len(frames) + 1))
    assert told["frames"][0]["spec"] == frames[0].spec()
    text = run("plan", str(job_file)).output
    assert text.count("Holes") == len(frames)


def test_pick_writes_the_frame_into_the_file_and_plans_it(job_file: Path) -> None:
    result = run("plan", str(job_file), "--pick", "2")
    assert result.exit_code == 0, result.output
    written = json.loads(job_file.read_text(encoding="utf-8"))
    assert written == open_spec() | plan.choose(read(open_spec())).frames[1].spec()
    assert "Any frame that fits" in result.output


def test_pick_beyond_the_table_changes_nothing(job_file: Path) -> None:
    before = job_file.read_text(encoding="utf-8")
    result = run("plan", str(job_file), "--pick", "9999")
    assert result.exit_code == 2
    assert "There is no frame 9999" in result.output
    assert job_file.read_text(encoding="utf-8") == before


def test_pick_never_changes_a_frame_that_is_given(job_file: Path) -> None:
    job_file.write_text(json.dumps(spec()), encoding="utf-8")
    result = run("plan", str(job_file), "--pick", "1")
    assert result.exit_code == 2
    assert "has its frame already" in result.output
    assert json.loads(job_file.read_text(encoding="utf-8")) == spec()


def test_a_place_that_cannot_be_written_is_said(job_file: Path, tmp_path: Path) -> None:
    result = run("plan", str(job_file), "--pick", "1", "-o", str(tmp_path / "nowhere" / "job.json"))
    assert result.exit_code == 2
    assert "could not be written" in result.output


def test_frames_that_the_checks_refuse_are_not_offered_and_their_fault_is_said() -> None:
    """DCA 6-2012 wants 6x6 posts (Table 4 note 5): the search does not know, the frame's checks do."""
    choice = plan.choose(read(open_spec(edition="DCA 6-2012", post="4x4")))
    assert choice.frames == ()
    told = " ".join(sentence(message.key, message.slots) for message in choice.blocked)
    assert "6x6 posts hold" in told


@pytest.mark.parametrize("edition", ["DCA 6-2012", "IRC 2015", "IRC 2021"])
def test_every_frame_offered_passes_every_check_once_it_is_in_the_job(edition: str) -> None:
    wanted = open_spec(edition=edition, height="5'", patches=[{"name": "Tub", "x": "2'", "y": "2'", "width": "6'", "out": "6'", "load": 100}])
    choice = plan.choose(read(wanted))
    assert choice.frames
    for option in choice.frames[::5]:
        document = plan.plan("any", wanted | option.spec()).document
        assert [member["id"] for member in document["frame"]["members"] if member["level"] == "fails"] == []


@pytest.mark.parametrize(("stated", "opening"), [
    ({"height": "20'", "post": "4x4"}, {"height"}), ({"height": "8\""}, {"height"}), ({"height": "15'", "post": "4x4", "species": "ponderosa pine", "live": 200, "out": "16'"}, {"height", "post"}),
])
def test_what_would_open_a_deck_too_high_or_too_low_is_named_and_does(stated: dict[str, Any], opening: set[str]) -> None:
    stated = stated | {"edition": "IRC 2015"}
    choice = plan.choose(read(open_spec(**stated)))
    opens = {message.key.removeprefix("choose.open."): message.slots for message in choice.blocked if message.key.startswith("choose.open.")}
    assert choice.frames == ()
    assert set(opens) & {"height", "post"} == opening
    assert plan.choose(read(open_spec(**stated | {"height": f'{opens["height"]["height"]}"'}))).frames
    if "post" in opens:
        assert plan.choose(read(open_spec(**stated | {"post": opens["post"]["size"]}))).frames
