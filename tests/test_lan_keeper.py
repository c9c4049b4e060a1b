"""Leaves in time and addresses that move: what is made anew, what is said, what is refused."""
from __future__ import annotations

import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from server.errors import YardtrueError
from server.lan import addresses, authority, keeper, leaf
from server.lan.addresses import Reach
from server.words import sentence
from tests.lan_case import HOST, NAME, Clock, Moving, code_of, keeper_at

NOW = datetime.now(UTC).replace(microsecond=0)


# Time

def test_a_leaf_lasts_as_long_as_phones_accept():
    home = Reach(("192.168.1.20",), ("fern.local",))
    one = x509.load_pem_x509_certificates(leaf.make_leaf(authority.make_authority(home, NOW), home, NOW))[0]
    assert timedelta(days=90) <= one.not_valid_after_utc - one.not_valid_before_utc < timedelta(days=398)


def test_a_leaf_is_kept_until_thirty_days_before_its_end(tmp_path):
    clock = Clock()
    opened = keeper_at(tmp_path, clock)
    serial = opened.standing.leaf.serial
    clock.go(days=59)
    assert opened.look() == []
    assert opened.standing.leaf.serial == serial
    clock.go(days=2)
    assert [message["key"] for message in opened.look()] == ["lan.renewed"]
    assert opened.standing.leaf.serial != serial
    assert opened.standing.leaf.ends > clock() + timedelta(days=89)
    assert opened.look() == []


def test_a_machine_that_slept_past_the_end_wakes_to_a_new_leaf(tmp_path):
    clock = Clock()
    opened = keeper_at(tmp_path, clock)
    clock.go(days=400)
    assert [message["key"] for message in opened.look()] == ["lan.renewed"]
    assert opened.standing.leaf.begins < clock() < opened.standing.leaf.ends


def test_the_last_leaf_ends_with_its_authority_and_the_end_is_said(tmp_path):
    clock = Clock()
    opened = keeper_at(tmp_path, clock)
    ends = opened.authority.signer.not_valid_after_utc
    clock.moment = ends - timedelta(days=20)
    assert [message["key"] for message in opened.look()] == ["lan.ending", "lan.renewed"]
    assert opened.standing.leaf.ends == ends
    assert opened.look() == []
    clock.moment = ends + timedelta(seconds=1)
    (said,) = opened.look()
    assert "--new-authority" in sentence(said["key"], said["slots"])
    assert code_of(keeper_at, tmp_path, clock) == "lan-authority-over"


def test_a_clock_before_the_authority_is_said(tmp_path):
    keeper_at(tmp_path)
    assert code_of(keeper_at, tmp_path, Clock(NOW - timedelta(days=400))) == "lan-clock"

# Addresses

def moving(tmp_path: Path, *start: str, names: tuple[str, ...] = ()) -> tuple[keeper.Keeper, Moving]:
    found = Moving(*start)
    return keeper.Keeper(tmp_path / "lan", keeper.Wish(names=names), found=found).open(), found


def test_an_address_beyond_the_authority_is_said_once_and_not_served(tmp_path):
    opened, found = moving(tmp_path, "192.168.1.20")
    found.addresses = ("192.168.1.20", "172.17.0.1")
    (said,) = opened.look()
    assert said["key"] == "lan.moved"
    told_as = sentence(said["key"], said["slots"])
    assert "172.17.0.1" in told_as
    assert "--new-authority" in told_as
    assert "172.17.0.1" not in opened.standing.reach.all
    assert opened.look() == []
    found.addresses = ("192.168.1.20",)
    assert opened.look() == []
    found.addresses = ("192.168.1.20", "172.17.0.1")
    assert [message["key"] for message in opened.look()] == ["lan.moved"]


def test_a_machine_that_moved_while_serving_goes_on_by_its_name_and_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(addresses.socket, "gethostname", lambda: "fern")
    opened, found = moving(tmp_path, "192.168.1.20")
    assert opened.origin == "https://192.168.1.20:8443"
    found.addresses = ("192.168.7.3",)
    assert [message["key"] for message in opened.look()] == ["lan.moved"]
    assert opened.standing.reach == Reach((), ("fern.local",))
    assert opened.origin == "https://fern.local:8443"


def test_a_machine_that_moved_and_starts_again_is_refused_with_the_way_out(tmp_path):
    _, found = moving(tmp_path, "192.168.1.20")
    found.addresses = ("192.168.7.3",)
    with pytest.raises(YardtrueError) as caught:
        moving(tmp_path, "192.168.7.3")
    assert caught.value.code == "lan-beyond-address"
    assert "--new-authority" in caught.value.plain()["error"]["fix"]
    anew = keeper.Keeper(tmp_path / "lan", keeper.Wish(), found=found).open(anew=True)
    assert anew.standing.reach.addresses == ("192.168.7.3",)


def test_a_name_asked_for_later_needs_a_new_authority(tmp_path):
    moving(tmp_path, "192.168.1.20")
    assert code_of(lambda: moving(tmp_path, "192.168.1.20", names=("yard.example",))) == "lan-beyond-name"


def test_two_desks_on_one_folder_leave_each_others_leaves_alone(tmp_path):
    keeper_at(tmp_path)
    one, other = keeper_at(tmp_path), keeper_at(tmp_path, names=())
    assert set(one.standing.reach.all) > set(other.standing.reach.all)
    for _ in range(3):
        assert one.look() == other.look() == []


def test_an_address_that_goes_and_comes_back_needs_no_new_leaf(tmp_path):
    opened, found = moving(tmp_path, "192.168.1.20", "10.0.0.4")
    found.addresses = ("10.0.0.4",)
    assert opened.look() == []
    assert opened.origin == "https://10.0.0.4:8443"
    found.addresses = ("192.168.1.20", "10.0.0.4")
    assert opened.look() == []
    assert opened.standing.reach.addresses == ("192.168.1.20", "10.0.0.4")


def test_an_address_within_the_authority_that_appears_gets_a_leaf(tmp_path):
    opened, found = moving(tmp_path, "192.168.1.20", "10.0.0.4")
    found.addresses = ("10.0.0.4",)
    (tmp_path / "lan" / leaf.FILE).unlink()
    later = keeper.Keeper(tmp_path / "lan", keeper.Wish(), found=found).open()
    assert later.standing.leaf.reach.addresses == ("10.0.0.4",)
    found.addresses = ("192.168.1.20", "10.0.0.4")
    assert [message["key"] for message in later.look()] == ["lan.renewed"]
    assert set(later.standing.leaf.reach.addresses) == set(found.addresses)
    assert opened.authority.fingerprint == later.authority.fingerprint


@pytest.mark.parametrize(("hostname", "names"), [
    ("fern", ["fern.local"]), ("fern-2", ["fern-2.local", "fern-2"]), ("Fern2.house.example", ["fern2.local", "fern2"]),
    ("localhost", []), ("", []), ("fern_2", []), ("xn--frn-0na", ["xn--frn-0na.local"]),
])
def test_a_bare_name_that_could_be_others_ending_is_left_out(hostname, names, monkeypatch):
    monkeypatch.setattr(addresses.socket, "gethostname", lambda: hostname)
    assert addresses.own_names() == names


@pytest.mark.parametrize(("name", "code"), [
    ("com", "lan-name-ending"), ("local", "lan-name-ending"), ("xn--p1ai", "lan-name-ending"), ("yard desk", "lan-name"), ("*.example", "lan-name"),
    ("", "lan-name"), ("yärd.local", "lan-name"), ("a..b", "lan-name"), (".local", "lan-name"), ("x" * 64 + ".local", "lan-name"),
    ("8.8.8.8", "lan-public"), ("2001:db8::1", "lan-public"), ("0.0.0.0", "lan-public"), ("<img onerror>", "lan-name"), ("a\0b.local", "lan-name"),
])
def test_names_nobody_here_may_vouch_for_are_refused(name, code):
    assert code_of(addresses.own_reach, HOST, [name]) == code


@pytest.mark.parametrize(("host", "code"), [("192.0.2.2", "lan-public"), ("fern.local", "lan-host"), ("8.8.8.8", "lan-public")])
def test_a_host_that_is_not_private_is_refused(host, code):
    assert code_of(addresses.own_reach, host, []) == code


def test_a_machine_without_a_network_is_told():
    assert code_of(addresses.own_reach, None, [], Moving()) == "lan-no-address"
    assert addresses.own_reach(None, [NAME], Moving()).addresses == ()


def test_own_addresses_are_private_and_this_machines():
    for address in addresses.own_addresses():
        assert addresses.is_private(address)
        with socket.socket() as probe:
            probe.bind((address, 0))


def test_private_is_what_the_ranges_say():
    for address in ("10.1.2.3", "172.16.0.1", "172.31.255.255", "192.168.0.1", "fd00::1"):
        assert addresses.is_private(address)
    for address in ("172.15.0.1", "172.32.0.1", "192.169.0.1", "127.0.0.1", "169.254.1.1", "192.0.2.2", "fe80::1", "8.8.8.8"):
        assert not addresses.is_private(address)
