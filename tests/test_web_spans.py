"""The page of spans at the desk: the same answers as the command, faults at their fields, what was typed kept."""
import re

import pytest
from markupsafe import escape

from server import spans
from server.field import tape
from server.span_fields import QUESTIONS
from server.words import sentence
from tests.entered import desk_app, entered
from tests.test_spans import GOOD

HOSTILE = '<img src=x onerror=alert(1)>"'


@pytest.fixture
def desk(tmp_path):
    return entered(desk_app(tmp_path, TESTING=False))


def typed(question, **change):
    return {name.replace("-", "_"): value for name, value in GOOD[question].items()} | change


def get(desk, question, **change):
    return desk.get("/spans", query_string={"question": question} | typed(question, **change))


def test_every_question_has_a_form_and_the_desk_leads_there(desk):
    assert 'href="/spans"' in desk.get("/").text
    page = desk.get("/spans")
    assert page.status_code == 200
    for question, fields in QUESTIONS.items():
        assert f'<input type="hidden" name="question" value="{question}">' in page.text
        assert all(f'id="{question}-{field.name}"' in page.text for field in fields)
    ids = re.findall(r'\sid="([^"]*)"', page.text)
    assert len(ids) == len(set(ids))
    assert not re.search(r"<script|<style|\sstyle=|\son[a-z]+=", page.text)


@pytest.mark.parametrize("question", GOOD)
def test_the_same_answer_as_everywhere(desk, question):
    page = get(desk, question)
    assert page.status_code == 200
    answer = spans.ask(question, typed(question))
    for name in ("max_in", "max_cantilever_in", "square_in", "round_in", "thickness_in"):
        if answer.get(name):
            shown, total = escape(tape.show(answer[name], "inch")), escape(tape.total(answer[name], "inch"))
            assert f'<dd>{shown}</dd><dd class="total">{total}</dd>' in page.text
    for part in ("edition", "table", "cell"):
        assert escape(answer["source"][part]) in page.text
    assert all(escape(one["formula"]) in page.text for one in answer["checks"])
    assert question == "footing" or "(governs)" in page.text
    assert sentence("desk.standing") in page.text
    assert f'id="{question}" open' in page.text


def test_beyond_the_tables_the_page_says_who_decides(desk):
    page = get(desk, "joist", live="90").text
    assert sentence("desk.spans.level.engineer") in page
    assert sentence("cli.span.no-cell") in page
    assert sentence("desk.spans.level.holds") not in page


def test_faults_stand_at_their_fields_and_what_was_typed_is_kept(desk):
    page = get(desk, "beam", joist_span="12", live="many", species="oak")
    assert page.status_code == 400
    for name, value in {"joist_span": "12", "live": "many"}.items():
        assert f'id="beam-{name}-fault"' in page.text
        assert re.search(rf'id="beam-{name}" name="{name}" value="{value}"[^>]*aria-invalid="true"', page.text)
    assert '<option value="oak" selected>oak</option>' in page.text
    assert "“12” has no unit" in page.text
    assert "12&#39; 0&#34;" in page.text
    assert page.text.count("-fault\">") == 3
    assert 'class="answer"' not in page.text


def test_what_is_said_once_stands_in_the_other_questions_too(desk):
    page = get(desk, "post", live="50").text
    assert 'id="footing-area" name="area" value="60"' in page
    assert 'id="ledger-live" name="live" value="50"' in page
    beam = page.split('id="beam-species"')[1].split("</select>")[0]
    assert '<option value="southern pine" selected>' in beam
    edition = page.split('id="beam-edition"')[1].split("</select>")[0]
    assert '<option value="IRC 2015" selected>' in edition


@pytest.mark.parametrize("name", ["species", "beam", "joist_span", "edition", "live"])
def test_what_is_hostile_is_only_ever_text(desk, name):
    page = get(desk, "beam", **{name: HOSTILE})
    assert page.status_code == 400
    assert "<img src=x" not in page.text
    assert "&lt;img src=x" in page.text


def test_an_unknown_question_is_an_error_page(desk):
    page = desk.get("/spans?question=rafter")
    assert page.status_code == 400
    assert all(question in page.text for question in QUESTIONS)


def test_an_empty_form_names_what_is_missing(desk):
    page = desk.get("/spans?question=joist&species=&size=&spacing=&edition=&live=")
    assert page.status_code == 400
    assert [name for name in ("species", "size", "spacing", "edition", "live") if f'id="joist-{name}-fault"' in page.text] == ["species", "size", "spacing"]
