"""The trust page: it and the certificate alone on plain HTTP, what it says, and what the desk says of it."""
from __future__ import annotations

import pytest

from server.web import trust_page
from tests.entered import desk_app, entered
from tests.lan_case import (
    HOST,
    got,
    keeper_at,
    lan,
    plainly,
)


@pytest.fixture
def served(tmp_path):
    with lan(tmp_path) as server:
        yield server


def test_nothing_but_the_page_is_on_plain_http(served):
    port = served.keeper.wish.trust_port
    inside = [rule.rule for rule in served.app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    assert len(inside) > 15
    for path in [*inside, "/phone/sw.js", "/static/desk.css", "/../authority.pem", "/static/trust.css", "/trust.css/../desk.css", "/desk.css"]:
        if path != "/":
            answer, body = plainly(port, path.replace("<", "").replace(">", ""))
            assert answer.status in (404, 400, 405), path
            assert b"Only the page for trusting" in body
    assert {rule.rule for rule in trust_page.build_trust_app(served.keeper).url_map.iter_rules()} == {
        "/", f"/{trust_page.CERTIFICATE}", '/<any("trust.css", "trust.js"):name>'}


def test_the_certificate_comes_as_phones_take_it(served):
    answer, body = plainly(served.keeper.wish.trust_port, f"/{trust_page.CERTIFICATE}")
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert body == served.keeper.authority.root_der
    assert b"PRIVATE" not in body


def test_the_page_says_what_is_so_and_allows_one_more_origin(served):
    answer, body = plainly(served.keeper.wish.trust_port, "/")
    page = body.decode()
    for text in (*served.keeper.authority.vouches.all, served.keeper.authority.name, "Certificate Trust Settings", "CA certificate", "To remove it again"):
        assert text in page
    for row in trust_page.trust(served.keeper)["fingerprint"]:
        assert row in page
    policy = answer.headers["Content-Security-Policy"]
    assert f"img-src 'self' https://{HOST}:{served.keeper.wish.port}" in policy
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "style=" not in page
    assert "<script>" not in page


def test_the_page_reached_by_a_strange_name_says_so(served):
    answer, body = plainly(served.keeper.wish.trust_port, "/", "elsewhere.example")
    assert "You came here by elsewhere.example" in body.decode()
    assert f"https://{HOST}:" in answer.headers["Content-Security-Policy"]
    _, body = plainly(served.keeper.wish.trust_port, "/", '"><script>alert(1)</script>')
    assert b"<script>alert" not in body


@pytest.mark.parametrize(("agent", "first"), [("Mozilla/5.0 (Linux; Android 14)", "android"), ("Mozilla/5.0 (iPhone)", "iphone"), ("", "iphone")])
def test_the_kind_of_phone_that_asks_comes_first(served, agent, first):
    page = trust_page.build_trust_app(served.keeper).test_client().get("/", headers={"User-Agent": agent}).text
    places = {kind: page.index(f'id="{kind}"') for kind in ("iphone", "android")}
    assert min(places, key=places.get) == first


@pytest.mark.parametrize("verdict", ["expired", "early", "wrong-name", "untrusted"])
def test_the_page_says_what_the_desks_own_check_found(tmp_path, verdict):
    keeper = keeper_at(tmp_path)
    page = trust_page.build_trust_app(keeper).test_client()
    keeper.verdict = "ok"
    assert "Checked:" not in page.get("/").text
    keeper.verdict = verdict
    assert "Checked:" in page.get("/").text


def test_the_desk_shows_how_a_phone_comes_in(served, tmp_path):
    page = entered(served.app).get("/phones").text
    assert "<svg" in page
    assert served.keeper.trust_origin in page
    (tmp_path / "alone").mkdir()
    alone = entered(desk_app(tmp_path / "alone")).get("/phones").text
    assert "yardtrue serve --lan" in alone
    assert "--behind-proxy" in alone


def test_the_picture_may_be_seen_from_the_trust_page_and_nothing_else_may(served):
    assert got(served, "/trust/seen.svg")[0].headers["Cross-Origin-Resource-Policy"] == "cross-origin"
    assert got(served, "/phone/")[0].headers["Cross-Origin-Resource-Policy"] == "same-origin"


