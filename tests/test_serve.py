"""`yardtrue serve`: what it refuses, and the three servers of --lan for real."""
from __future__ import annotations

import http.client
import logging
import os
import signal
import socket
import ssl
import struct
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from server.cli import main
from tests.lan_case import (
    HOST,
    NAME,
    PATIENCE,
    Clock,
    free_port,
    got,
    lan,
    plainly,
    shown,
    told_scheme,
    trusting,
    until_answers,
)

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def served(tmp_path):
    with lan(tmp_path) as server:
        yield server


# What is refused

@pytest.mark.parametrize(("arguments", "said"), [
    (["--host", "0.0.0.0"], "--lan"),
    (["--host", "192.168.1.20"], "without TLS nothing is locked"),
    (["--host", "::"], "without TLS nothing is locked"),
    (["--host", "fern.local"], "without TLS nothing is locked"),
    (["--behind-proxy", "--host", "0.0.0.0", "--name", "decks.example"], "without TLS nothing is locked"),
    (["--behind-proxy"], "--name"),
    (["--lan", "--behind-proxy"], "two ways"),
    (["--new-authority"], "only with --lan"),
    (["--lan", "--host", "8.8.8.8"], "private network"),
    (["--lan", "--host", HOST, "--name", "com"], "ending"),
])
def test_what_would_leave_a_door_open_is_refused_with_a_way_out(arguments, said, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    done = CliRunner().invoke(main, ["serve", *arguments])
    assert done.exit_code == 2
    assert said in done.output
    assert "Traceback" not in done.output
    assert not list(tmp_path.rglob("*.pem"))


@pytest.mark.parametrize("option", ["--port", "--lan-port", "--trust-port"])
def test_a_port_that_is_taken_is_said(option, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    with socket.create_server(("127.0.0.1" if option == "--port" else HOST, 0)) as taken:
        ports = {"--port": free_port("127.0.0.1"), "--lan-port": free_port(), "--trust-port": free_port()}
        ports[option] = taken.getsockname()[1]
        told = [str(part) for pair in ports.items() for part in pair]
        done = CliRunner().invoke(main, ["serve", "--lan", "--host", HOST, *told])
    assert done.exit_code == 2
    assert str(ports[option]) in done.output
    assert "Traceback" not in done.output
    assert not list(tmp_path.rglob("*.pem"))


# The local network

def test_the_phone_is_served_under_tls_by_address_and_name(served):
    for host in (HOST, NAME):
        answer, text = got(served, "/phone/", host)
        assert answer.status == 200
        assert "<title>" in text
    assert served.app.config["PUBLIC_ORIGIN"] == f"https://{HOST}:{served.keeper.wish.port}"
    assert got(served, "/phone/", "evil.example")[0].status == 403


def test_requests_under_tls_are_secure_and_those_on_loopback_are_not(tmp_path):
    with lan(tmp_path) as server:
        server.app.after_request(told_scheme)
        assert got(server, "/trust/seen.svg")[0].headers["Seen-As"] == "https True"
        answer, _ = plainly_at(server.plain[0].effective_port)
        assert answer.headers["Seen-As"] == "http False"


def plainly_at(port: int):
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    line.request("GET", "/trust/seen.svg")
    answer = line.getresponse()
    return answer, answer.read()


def test_old_tls_is_not_spoken(served):
    assert served.phones.ssl_adapter.context.minimum_version == ssl.TLSVersion.TLSv1_2


def test_plain_http_at_the_tls_port_gets_a_sentence_and_the_server_goes_on(served):
    for _ in range(3):
        answer, body = plainly(served.keeper.wish.port, "/")
        assert answer.status == 400
        assert b"https://" in body
    assert got(served, "/trust/seen.svg")[0].status == 200


def test_connections_that_say_nothing_hold_up_nobody(served):
    silent = [socket.create_connection((HOST, served.keeper.wish.port)) for _ in range(12)]
    torn = socket.create_connection((HOST, served.keeper.wish.port))
    torn.sendall(b"\x16\x03\x01")
    began = time.monotonic()
    assert got(served, "/trust/seen.svg")[0].status == 200
    assert time.monotonic() - began < 2
    for line in (*silent, torn):
        line.close()


def test_a_phone_that_leaves_in_the_middle_leaves_no_traceback(served, capfd, caplog):
    for _ in range(5):
        with socket.create_connection((HOST, served.keeper.wish.port), PATIENCE) as plain:
            plain.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            with trusting(served).wrap_socket(plain, server_hostname=HOST) as line:
                line.sendall(f"GET /phone/app.css HTTP/1.1\r\nHost: {HOST}\r\n\r\n".encode() * 20)
    assert got(served, "/trust/seen.svg")[0].status == 200
    assert "Traceback" not in capfd.readouterr().err + caplog.text


def test_a_crash_in_the_server_itself_is_logged_whole(served, caplog):
    try:
        raise KeyError("unforeseen")
    except KeyError:
        served.phones.error_log("seen", logging.ERROR, traceback=True)
    assert "unforeseen" in caplog.text


def test_a_connection_is_kept_for_the_next_request(served):
    line = http.client.HTTPSConnection(HOST, served.keeper.wish.port, context=trusting(served), timeout=PATIENCE)
    for _ in range(3):
        line.request("GET", "/trust/seen.svg")
        answer = line.getresponse()
        answer.read()
        assert answer.headers["Connection"] is None
        kept = line.sock
        assert kept is not None
    line.close()


def test_fifty_phones_at_once_are_served(served):
    answers, failed = [], []

    def ask() -> None:
        try:
            began = time.monotonic()
            assert got(served, "/phone/app.css")[0].status == 200
            answers.append(time.monotonic() - began)
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=ask) for _ in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
    assert failed == []
    assert len(answers) == 50


def test_a_new_certificate_is_shown_while_serving(tmp_path):
    clock = Clock()
    said = []
    with lan(tmp_path, clock) as server:
        port = server.keeper.wish.port
        before = shown(HOST, port).serial_number
        open_line = http.client.HTTPSConnection(HOST, port, context=trusting(server), timeout=PATIENCE)
        open_line.request("GET", "/trust/seen.svg")
        open_line.getresponse().read()
        server.look(said.append)
        assert shown(HOST, port).serial_number == before
        clock.go(days=61)
        server.look(said.append)
        assert shown(HOST, port).serial_number == server.keeper.standing.leaf.serial != before
        open_line.request("GET", "/trust/seen.svg")
        assert open_line.getresponse().status == 200
        open_line.close()
    assert [message["key"] for message in said] == ["lan.renewed"]


# The command, as a process

def started(folder: Path, *arguments: str) -> tuple[subprocess.Popen[str], dict[str, int]]:
    ports = {"--port": free_port("127.0.0.1"), "--lan-port": free_port(), "--trust-port": free_port()}
    told = [str(part) for pair in ports.items() for part in pair]
    command = [sys.executable, "-u", "-m", "server", "serve", "--lan", "--host", HOST, "--name", NAME, *told, *arguments]
    environment = os.environ | {"XDG_DATA_HOME": str(folder)}
    process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    until_answers(HOST, ports["--lan-port"])
    return process, ports


def ended(process: subprocess.Popen[str]) -> str:
    """What it printed, after Ctrl-C."""
    time.sleep(1)
    process.send_signal(signal.SIGINT)
    text, _ = process.communicate(timeout=PATIENCE)
    return text


def test_the_command_prints_the_way_in_and_checks_itself(tmp_path):
    first, ports = started(tmp_path)
    text = ended(first)
    assert "Traceback" not in text
    assert f"http://{HOST}:{ports['--trust-port']}/" in text
    assert "█" in text or "▄" in text
    assert "An authority was made" in text
    assert "Checked: https://" in text
    assert "answers with the right certificate" in text
    prints = [line.strip() for line in text.splitlines() if len(line.strip()) == 23 and line.strip()[2] == " "]
    assert len(prints) == 4
    again, _ = started(tmp_path)
    text = ended(again)
    assert "An authority was made" not in text
    assert all(row in text for row in prints)
    anew, _ = started(tmp_path, "--new-authority")
    text = ended(anew)
    assert "The old authority is gone" in text
    assert ":".join(prints[0].split()) in text
    assert not all(f"  {row}" in text.splitlines() for row in prints)
