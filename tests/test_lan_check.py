"""The desk looks at itself as a phone would, and what is said of it."""
from __future__ import annotations

import re
import socket
import ssl
import threading
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from server.lan import authority, check, keeper, leaf, told
from server.lan.addresses import Reach
from server.words import sentence, words
from tests.lan_case import HOST, NAME, free_port, keeper_at

NOW = datetime.now(UTC).replace(microsecond=0)


@contextmanager
def showing(folder: Path, content: bytes):
    """A server that shows this certificate; its port."""
    (folder / "shown.pem").write_bytes(content)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "shown.pem")
    with socket.create_server((HOST, 0)) as door:

        def answer() -> None:
            taken, _ = door.accept()
            with taken, suppress(OSError):
                context.wrap_socket(taken, server_side=True).close()

        thread = threading.Thread(target=answer, daemon=True)
        thread.start()
        yield door.getsockname()[1]
        thread.join(10)


SERVER = Path(__file__).resolve().parent.parent / "server"
HERE = Reach((HOST,), (NAME,))


@pytest.mark.parametrize(("reach", "shift", "verdict"), [
    (HERE, 0, "ok"), (HERE, -200, "expired"), (HERE, 30, "early"), (Reach((), (NAME,)), 0, "wrong-name"),
])
def test_the_check_says_what_is_wrong_with_a_certificate(tmp_path, reach, shift, verdict):
    made = authority.make_authority(HERE, NOW - timedelta(days=300))
    with showing(tmp_path, leaf.make_leaf(made, reach, NOW + timedelta(days=shift))) as port:
        assert check.check(HOST, port, made.root_pem) == verdict


def test_the_check_believes_no_other_authority(tmp_path):
    made, other = authority.make_authority(HERE, NOW), authority.make_authority(HERE, NOW)
    with showing(tmp_path, leaf.make_leaf(other, HERE, NOW)) as port:
        assert check.check(HOST, port, made.root_pem) == "untrusted"


def test_the_check_refuses_a_leaf_beyond_the_limits(tmp_path):
    made = authority.make_authority(Reach((), (NAME,)), NOW)
    with showing(tmp_path, leaf.make_leaf(made, HERE, NOW)) as port:
        assert check.check(HOST, port, made.root_pem) == "wrong-name"


def test_the_check_says_when_nobody_answers():
    assert check.check(HOST, free_port(), authority.make_authority(HERE, NOW).root_pem) == "no-answer"


def test_each_verdict_has_its_words_and_is_told_when_it_changes(tmp_path, monkeypatch):
    opened = keeper_at(tmp_path)
    for verdict in ("ok", "expired", "early", "wrong-name", "untrusted", "no-answer"):
        monkeypatch.setattr(keeper, "check", lambda *_, verdict=verdict: verdict)
        (said,) = opened.examine()
        assert opened.origin in sentence(said["key"], said["slots"])
        assert opened.examine() == []

def test_the_page_is_told_what_is_so(tmp_path):
    opened = keeper_at(tmp_path)
    plain = told.trust(opened, NAME)
    assert plain["origin"] == f"https://{NAME}:{opened.wish.port}"
    assert "".join(plain["fingerprint"]).replace(" ", "") == opened.authority.fingerprint.replace(":", "")
    assert [len(row) for row in plain["fingerprint"]] == [23] * 4
    assert plain["addresses"] == [HOST]
    assert NAME in plain["names"]
    assert plain["strange"] == ""
    strange = told.trust(opened, "elsewhere.example")
    assert strange["strange"] == "elsewhere.example"
    assert strange["origin"] == f"https://{HOST}:{opened.wish.port}"


def test_no_sentence_of_it_is_left_unused():
    source = "".join(path.read_text(encoding="utf-8") for path in SERVER.rglob("*") if path.suffix in (".py", ".html"))
    made_up = ("lan.check.", "trust.iphone", "trust.android", "trust.desk.way.", "trust.back")
    mine = [key for key in words() if key.startswith(("lan.", "trust.", "cli.serve.")) and not key.startswith(made_up)]
    assert len(mine) > 40
    assert [key for key in mine if not re.search(rf"[\"']{re.escape(key)}[\"']", source)] == []
