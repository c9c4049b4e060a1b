"""A rehearsal at the desk: the form, pictures and tables that say the same, faults at their fields, what is kept."""
import json
import re
from xml.etree import ElementTree

import pytest

from server.model import WAYS
from server.places import SEED
from server.rehearse import picture, report, table
from server.web import bundles, rehearsals
from server.words import sentence
from tests.entered import desk_app, entered

BENCH = json.loads((SEED / "jobs/bench-16x12.json").read_text(encoding="utf-8"))
HOSTILE = '<img src=x onerror=alert(1)>"'
QUICK = {"yards": "3", "way": WAYS[1]}


@pytest.fixture
def desk(tmp_path):
    app = desk_app(tmp_path, TESTING=False)
    with app.app_context():
        app.config["BENCH"] = bundles.store().add_job(BENCH, bundles.digest_of)
    return entered(app)


def bench(desk):
    return desk.application.config["BENCH"]


def add(desk, **change):
    with desk.application.app_context():
        return bundles.store().add_job(BENCH | change, bundles.digest_of)


def get(desk, **query):
    return desk.get(f"/jobs/{bench(desk)}/rehearse", query_string=query)


def drawings(page):
    return [ElementTree.fromstring(found) for found in re.findall(r"<svg.*?</svg>", page.text, flags=re.S)]


def test_the_job_leads_to_a_form_that_walks_nothing_yet(desk, monkeypatch):
    assert f'href="/jobs/{bench(desk)}/rehearse"' in desk.get(f"/jobs/{bench(desk)}").text
    monkeypatch.setattr(report, "rehearse", None)
    page = get(desk)
    assert page.status_code == 200
    assert 'name="yards" value="30"' in page.text
    assert 'name="tape" value="30&#39; 0&#34;"' in page.text
    assert "<svg" not in page.text


def test_pictures_and_tables_say_the_same_as_the_command(desk):
    page = get(desk, slips="2 %", **QUICK)
    assert page.status_code == 200
    with desk.application.app_context():
        saved = bundles.store().job(bench(desk))
        wish = rehearsals.wanted.read(QUICK | {"slips": "0.02", "tape": "30'"}, "inch")
        (found,) = report.rehearse([rehearsals.with_tape(saved, "30'").document], wish)
    for what, cells in table.rows_of(found):
        assert what.replace('"', "&#34;") in page.text
        row = page.text.split(f'<th scope="row">{what.replace(chr(34), "&#34;")}</th>')[1].split("</tr>")[0]
        assert re.findall(r'<td class="amount"[^>]*>([^<]*)</td>', row) == cells
    assert all(note.split(":")[0] in page.text for note in table.foot(found))
    strips, curves = drawings(page)
    dots = [one for one in strips if one.tag.endswith("circle")]
    assert len(dots) == 2 * 3
    full = sum(1 for one in dots if one.get("fill") == picture.INK)
    assert full == sum(1 for crew in found["crews"].values() for worst in crew["worst_in"] if worst <= 0.25)
    (line,) = [one for one in curves if one.tag.endswith("polyline")]
    ends = [float(point.split(",")[1]) for point in line.get("points").split()]
    assert ends == [pytest.approx(picture.y_of(value), abs=0.06) for value in found["crews"][WAYS[1]]["after_pulls"]]
    for drawing in (strips, curves):
        assert drawing.get("role") == "img"
        assert len(drawing.get("aria-label")) > 60
    assert not re.search(r"<script|<style|\sstyle=|\son[a-z]+=", page.text)
    assert sentence("desk.standing") in page.text


def test_dots_stand_on_their_side_of_the_tolerance_and_never_beyond_the_picture():
    worst = [0.0, 0.2499, 0.25, 0.2501, 0.3, 0.999, 1.0, 7.0] * 6
    root = ElementTree.fromstring(picture.strips([picture.Strip("Crew", worst)], 0.25, "inch"))
    middle = picture.x_of(0.25, 0.25)
    dots = [(float(one.get("cx")), float(one.get("cy")), one.get("fill") == picture.INK) for one in root if one.tag.endswith("circle")]
    assert len(dots) == len({dot[:2] for dot in dots}) == len(worst)
    assert sum(full for _, _, full in dots) == 18
    assert all((x < middle) == full for x, _, full in dots)
    assert all(picture.DOT < x < picture.WIDE - picture.DOT and y > 20 for x, y, _ in dots)
    assert "18 of 48 true" in root.get("aria-label")


def test_other_tapes_stand_beside_by_one_way_the_shortest_first(desk):
    page = get(desk, others="yes", **QUICK)
    rows = page.text.split('id="tapes"')[1].split("</table>")[0]
    assert re.findall(r'<th scope="row">([^<]*)</th>', rows) == ["16&#39; 0&#34;", "25&#39; 0&#34;", "30&#39; 0&#34;"]
    assert "Whole frame, tape 16&#39; 0&#34;" in page.text or "Whole frame, tape 16' 0\"" in page.text
    strips, _ = drawings(page)
    assert len([one for one in strips if one.tag.endswith("circle")]) == 4 * 3


def test_a_tape_too_short_for_the_job_is_said(desk):
    wide = add(desk, name="Wide", width="34'")
    page = desk.get(f"/jobs/{wide}/rehearse", query_string=QUICK | {"yards": "1", "others": "yes"})
    assert page.status_code == 200
    assert "A tape of 16&#39; does not do for this job. A tape of 16&#39; 0&#34; does not reach half" in page.text


def test_what_was_walked_once_is_kept_until_the_job_changes(desk, monkeypatch):
    first = get(desk, **QUICK)
    walked = []
    honest = report.rehearse
    monkeypatch.setattr(report, "rehearse", lambda documents, wish: walked.append(wish) or honest(documents, wish))
    assert get(desk, **QUICK).text == first.text
    assert walked == []
    assert get(desk, **QUICK | {"slips": "1 %"}).status_code == 200
    assert len(walked) == 1
    with desk.application.app_context():
        bundles.store().save_revision(bench(desk), BENCH | {"tolerance": '1/8"'}, bundles.digest_of)
    assert "within 1/8&#34;" in get(desk, **QUICK).text
    assert len(walked) == 2


@pytest.mark.parametrize(("name", "text", "said"), [
    ("yards", "61", "61 is outside 1 to 60."),
    ("yards", "3.5", "“3.5” is not a whole number."),
    ("slips", "60 %", "“60 %” is more than half"),
    ("tape", "16", "“16” has no unit."),
    ("tape", "9 ft", "is too short to lay out a deck"),
    ("way", "sideways", "“sideways” is not one of the choices."),
])
def test_faults_stand_at_their_fields_and_what_was_typed_is_kept(desk, name, text, said):
    page = get(desk, **QUICK | {name: text})
    assert page.status_code == 400
    assert page.text.count('-fault">') == 1
    assert said in page.text.split(f'id="{name}-fault"')[1].split("</p>")[0]
    assert f'value="{text}"' in page.text or f"<option selected>{text}</option>" in page.text
    assert "<svg" not in page.text


@pytest.mark.parametrize("name", rehearsals.FIELDS)
def test_what_is_hostile_is_only_ever_text(desk, name):
    page = get(desk, **QUICK | {name: HOSTILE})
    assert page.status_code == 400
    assert "<img src=x" not in page.text
    assert "&lt;img src=x" in page.text


def test_a_hostile_name_of_a_job_is_only_ever_text(desk):
    page = desk.get(f"/jobs/{add(desk, name=HOSTILE)}/rehearse", query_string=QUICK | {"yards": "1"})
    assert page.status_code == 200
    assert "<img src=x" not in page.text


def test_a_job_left_open_leads_to_its_frames_and_no_job_is_a_page(desk):
    job_id = add(desk, name="Open", beams="choose", species="hem-fir")
    assert desk.get(f"/jobs/{job_id}/rehearse").headers["Location"].endswith(f"/jobs/{job_id}/frames")
    assert desk.get("/jobs/nowhere/rehearse").status_code == 404
