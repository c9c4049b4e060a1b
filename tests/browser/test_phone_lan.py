"""HTTPS on the house's network for real: a Chromium that trusts the desk's authority, and one that does not."""
from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from server.lan import authority, leaf
from server.lan.addresses import Reach
from server.store import open_store
from tests.bench.standing import ROOT
from tests.browser.phone_case import DECK, READY, entries, open_job, row_of, tap_main, violations
from tests.browser.trusting import browser_at, need_certutil, trust
from tests.entered import KEY, let_in
from tests.lan_case import HOST, NAME, free_port, until_answers
from tests.test_lan_check import showing

HERE = Reach((HOST,), (NAME,))


class LanServer:
    """`yardtrue serve --lan` as a process of its own, to be killed and started again on the same data."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.desk, self.port, self.trust_port = free_port("127.0.0.1"), free_port(), free_port()
        self.origin, self.phone = f"https://{HOST}:{self.port}", f"https://{HOST}:{self.port}/phone/"
        self.page = f"http://{HOST}:{self.trust_port}/"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        ports = ["--port", self.desk, "--lan-port", self.port, "--trust-port", self.trust_port]
        command = [sys.executable, "-m", "server", "serve", "--lan", "--host", HOST, "--name", NAME, *map(str, ports)]
        environment = os.environ | {"XDG_DATA_HOME": str(self.folder), "YARDTRUE_DESK_KEY": KEY}
        environment.pop("YARDTRUE_DATABASE_URL", None)
        self.process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
        until_answers(HOST, self.port)

    def kill(self) -> None:
        if self.process:
            self.process.kill()
            self.process.wait()
            self.process = None

    def entries(self) -> list[dict[str, Any]]:
        """What the server holds of the demo job."""
        return open_store(f"sqlite:///{self.folder / 'yardtrue' / 'yardtrue.sqlite3'}").entries("long-side-deck")

    def authority(self) -> authority.Authority:
        path = self.folder / "yardtrue" / "lan" / authority.FILE
        return authority.read_authority(path, path.read_bytes())


@pytest.fixture
def server(tmp_path: Path) -> Iterator[LanServer]:
    server = LanServer(tmp_path / "data")
    server.start()
    yield server
    server.kill()


@pytest.fixture
def home(tmp_path: Path) -> Path:
    need_certutil()
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


def refused(page: Page, address: str) -> str:
    """What the browser says as it turns an address away."""
    with pytest.raises(Error) as caught:
        page.goto(address)
    return str(caught.value)


def test_a_phone_that_trusts_the_desk_walks_on_with_the_server_killed(chromium: Browser, server: LanServer, home: Path) -> None:
    trust(home, server.authority().root_pem)
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(server.phone)
        assert page.evaluate("isSecureContext")
        enter(page, server)
        page.goto(server.phone)
        page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
        expect(row_of(page, DECK)).to_contain_text(READY)
        page.wait_for_load_state("networkidle")
        server.kill()
        open_job(page)
        tap_main(page, "Understood")
        page.reload()
        expect(page.locator(".head")).to_contain_text(READY)
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 3 of")
        assert [entry["n"] for entry in entries(page)] == [1, 2]
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(server.phone)
        expect(row_of(page, DECK)).to_contain_text(READY)
        open_job(page)
        tap_main(page, "Understood")
        assert [entry["n"] for entry in entries(page)] == [1, 2, 3]


def enter(page: Page, server: LanServer) -> None:
    """Enter as a person does, with the key in the fragment, and see that the cookie goes over TLS alone."""
    page.goto(f"{server.origin}/enter#{KEY}")
    expect(page).to_have_url(f"{server.origin}/")
    (cookie,) = [one for one in page.context.cookies() if one["name"] == "yardtrue"]
    assert cookie["secure"]
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Strict"


def test_by_its_name_too_and_after_the_server_came_back(chromium: Browser, server: LanServer, home: Path) -> None:
    trust(home, server.authority().root_pem)
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(f"https://{NAME}:{server.port}/phone/")
        server.kill()
        server.start()
        page.goto(f"https://{NAME}:{server.port}/trust/seen.svg")
        assert page.evaluate("isSecureContext")


def test_a_phone_that_does_not_trust_the_desk_refuses_it(chromium: Browser, server: LanServer, home: Path) -> None:
    with browser_at(chromium, home) as context:
        assert "ERR_CERT_AUTHORITY_INVALID" in refused(context.new_page(), server.phone)
        page = context.new_page()
        page.goto(server.page)
        expect(page.locator("#state")).to_contain_text("does not trust the desk yet")
        expect(page.get_by_role("link", name="Open Yardtrue")).to_be_hidden()
        expect(page.get_by_role("heading", name="On an iPhone")).to_be_visible()
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_page_sees_the_trust_it_led_to(chromium: Browser, server: LanServer, home: Path) -> None:
    trust(home, server.authority().root_pem)
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(server.page)
        expect(page.locator("#state")).to_contain_text("This phone trusts the desk.")
        assert violations(page) == []
        page.get_by_role("link", name="Open Yardtrue").click()
        expect(page).to_have_url(server.phone)
        page.go_back()
        server.kill()
        page.get_by_role("link", name="Check again").click()
        expect(page.locator("#state")).to_contain_text("does not trust the desk yet")


def test_the_certificate_on_the_page_is_the_one_to_trust(chromium: Browser, server: LanServer, home: Path) -> None:
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(server.page)
        with page.expect_download() as download:
            page.get_by_role("link", name="Get the authority").click()
        assert Path(download.value.path()).read_bytes() == server.authority().root_der
        shown = page.locator(".fingerprint").inner_text().split()
        assert ":".join(shown) == server.authority().fingerprint


def test_without_scripts_the_page_still_leads_and_a_tick_shows(chromium: Browser, server: LanServer, home: Path) -> None:
    with browser_at(chromium, home, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(server.page)
        expect(page.get_by_text("Certificate Trust Settings")).to_be_visible()
        expect(page.get_by_role("link", name="Open Yardtrue")).to_be_visible()
        expect(page.get_by_role("img", name="No tick.")).to_be_visible()


@pytest.mark.parametrize(("days", "said"), [(400, "certificate ended on"), (-400, "clock is behind")])
def test_a_phone_whose_clock_is_off_is_told(chromium: Browser, server: LanServer, home: Path, days: int, said: str) -> None:
    with browser_at(chromium, home) as context:
        page = context.new_page()
        off = datetime.now(UTC) + timedelta(days=days)
        page.clock.set_fixed_time(off)
        page.goto(server.page)
        expect(page.locator("#state")).to_contain_text(said)
        expect(page.locator("#state")).to_contain_text(off.date().isoformat())


@pytest.mark.parametrize(("limits", "leaf_for", "shift", "fault"), [
    (HERE, HERE, 0, ""),
    (HERE, HERE, -200, "ERR_CERT_DATE_INVALID"),
    (HERE, Reach((), (NAME,)), 0, "ERR_CERT_COMMON_NAME_INVALID"),
    (Reach((), (NAME,)), HERE, 0, "ERR_CERT"),
    (Reach(("127.0.0.3",), ()), HERE, 0, "ERR_CERT"),
])
def test_a_browser_holds_the_authority_to_its_limits(
    chromium: Browser, home: Path, limits: Reach, leaf_for: Reach, shift: int, fault: str
) -> None:
    """The same authority, trusted: its leaf opens the door only in its days, for its name, within its limits."""
    now = datetime.now(UTC)
    made = authority.make_authority(limits, now - timedelta(days=300))
    trust(home, made.root_pem)
    with browser_at(chromium, home) as context, showing(home, leaf.make_leaf(made, leaf_for, now + timedelta(days=shift))) as port:
        said = refused(context.new_page(), f"https://{HOST}:{port}/")
        if fault:
            assert fault in said
        else:
            assert "ERR_CERT" not in said  # it was believed; that server hangs up after the handshake


def test_a_crew_link_takes_a_phone_in_and_its_entries_home(chromium: Browser, server: LanServer, home: Path) -> None:
    """From the desk's page to a phone over TLS; what is entered while the server is dead goes up once it is back."""
    link = crew_link(chromium, server)
    trust(home, server.authority().root_pem)
    with browser_at(chromium, home) as context:
        page = context.new_page()
        page.goto(link)
        expect(page.locator(".head")).to_contain_text(READY)
        tap_main(page, "Understood")
        page.wait_for_load_state("networkidle")
        expect(page.locator(".head")).to_contain_text("all sent")
        assert [entry["n"] for entry in server.entries()] == [1]
        server.kill()
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 3 of")
        server.start()
        page.evaluate("() => window.dispatchEvent(new Event('online'))")
        expect(page.locator(".head")).to_contain_text("all sent")
        assert [entry["id"] for entry in server.entries()] == [entry["id"] for entry in entries(page)]


def crew_link(chromium: Browser, server: LanServer) -> str:
    """A job's crew link, made on the desk's page on the desk's own machine."""
    context = chromium.new_context()
    let_in(context, f"http://127.0.0.1:{server.desk}")
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{server.desk}/jobs/long-side-deck")
    page.locator("form[action$='/link'] button").click()
    link = page.get_by_role("textbox", name="The link").input_value()
    context.close()
    return link


def test_links_made_at_the_desk_lead_to_the_network(chromium: Browser, server: LanServer) -> None:
    assert crew_link(chromium, server).startswith(f"{server.phone}#/crew/")
    context = chromium.new_context()
    let_in(context, f"http://127.0.0.1:{server.desk}")
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{server.desk}/phones")
    expect(page.locator("main")).to_contain_text(server.page)
    assert violations(page) == []
    context.close()
