"""The phone's tree: one function for server and folder, a worker whose version is its bytes, the right types."""
import json
import re
import shutil
from pathlib import Path

import pytest

from server import create_app, phone, plan, shell_tree
from server.places import PWA, SEED
from server.web import bundles
from server.words import words
from tests.entered import desk_app, entered

TYPES = {
    "index.html": "text/html", "app.css": "text/css", "main.js": "text/javascript", "sw.js": "text/javascript",
    "words.json": "application/json", "manifest.webmanifest": "application/manifest+json",
    "icons/icon.svg": "image/svg+xml", "jobs/index.json": "application/json",
}


@pytest.fixture
def app(tmp_path):
    return desk_app(tmp_path, demo=True)


@pytest.fixture
def server(app):
    return entered(app)


@pytest.fixture
def pwa(tmp_path):
    return Path(shutil.copytree(PWA, tmp_path / "pwa"))


def demo():
    return [plan.plan(path.stem, json.loads(path.read_text(encoding="utf-8"))) for path in sorted(SEED.glob("*.json"))]


def head_of(script):
    version, files = re.match(rb'const VERSION = (".*?");\nconst FILES = (\[.*?\]);\n', script).groups()
    return json.loads(version), json.loads(files)


def test_the_folder_and_the_server_hold_the_same_bytes(server):
    tree = shell_tree.whole_tree(demo())
    assert {"index.html", "sw.js", "words.json", "jobs/index.json"} < set(tree)
    for path, content in tree.items():
        response = server.get(f"/phone/{path}")
        assert response.status_code == 200, path
        assert response.data == content, path


def test_the_index_names_every_file_a_job_takes_and_each_is_served(server):
    index = server.get("/phone/jobs/index.json").json["jobs"]
    assert [job["id"] for job in index] == ["long-side-deck", "pear-tree-platform"]
    for job in index:
        document = server.get(f"/phone/jobs/{job['id']}/{job['digest']}.json").json
        assert document["digest"] == job["digest"]
        wanted = {f"field/{document['field']['digest']}/{name}" for name in document["field"]["modules"]}
        assert set(job["files"]) == wanted | {f"jobs/{job['id']}/{job['digest']}.json"}
        for path in job["files"]:
            response = server.get(f"/phone/{path}")
            assert response.status_code == 200
            assert "immutable" in response.headers["Cache-Control"]


def test_the_worker_lists_the_shell_and_nothing_of_the_jobs(server):
    _, files = head_of(server.get("/phone/sw.js").data)
    assert files == sorted(shell_tree.shell_files())
    assert "sw.js" not in files
    assert not any(path.startswith(("jobs/", "field/")) for path in files)
    assert server.get("/phone/sw.js").data.endswith((PWA / "sw.js").read_bytes())


@pytest.mark.parametrize("changed", ["app.css", "sw.js", "new.js"])
def test_the_version_changes_with_any_byte_shipped_and_only_then(pwa, changed):
    def version():
        return head_of(shell_tree.worker(shell_tree.shell_files(pwa), pwa))[0]
    before = version()
    assert version() == before
    with (pwa / changed).open("ab") as file:
        file.write(b"\n/* */")
    assert version() != before


def test_names_and_bytes_cannot_be_shuffled_into_the_same_digest():
    assert shell_tree.digest_of({"ab": b"c"}) != shell_tree.digest_of({"a": b"bc"})
    assert shell_tree.digest_of({"a": b"1", "b": b"2"}) == shell_tree.digest_of({"b": b"2", "a": b"1"})


def test_hidden_files_and_strange_kinds_are_not_shipped(pwa):
    (pwa / ".secret.js").write_text("x")
    (pwa / "notes.txt").write_text("x")
    (pwa / "data" / "sw.js").write_text("x")
    files = shell_tree.shell_files(pwa)
    assert "data/sw.js" in files
    assert not {".secret.js", "notes.txt", "sw.js"} & set(files)


@pytest.mark.parametrize(("path", "kind"), TYPES.items())
def test_types_and_freshness(server, path, kind):
    response = server.get(f"/phone/{path}")
    assert response.mimetype == kind
    assert response.headers["Cache-Control"] == "no-cache"
    again = server.get(f"/phone/{path}", headers={"If-None-Match": response.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_the_phone_gets_its_sentences_and_not_the_desks(server):
    spoken = server.get("/phone/words.json").json
    assert spoken == {key: text for key, text in words().items() if key.startswith("phone.")}
    assert "desk.title" not in spoken


def test_ways_in(server):
    assert server.get("/phone").headers["Location"].endswith("/phone/")
    assert server.get("/phone/").data == (PWA / "index.html").read_bytes()


@pytest.mark.parametrize("path", [
    "nope.js", "../pyproject.toml", "%2e%2e/pyproject.toml", "jobs/long-side-deck/0000000000000000.json",
    "jobs/nope/0000000000000000.json", "field/0000/tape.js", "jobs//x.json",
])
def test_what_is_not_in_the_tree_is_not_found(server, path):
    response = server.get(f"/phone/{path}")
    assert response.status_code in (404, 308)


def test_an_older_revision_stays_reachable_by_its_digest(server):
    first = server.get("/api/jobs/long-side-deck").json
    spec = first["spec"] | {"out": "14'"}
    saved = server.application.extensions["store"].save_revision
    with server.application.app_context():
        saved("long-side-deck", spec, bundles.digest_of)
        bundles.cache.clear()
    second = server.get("/api/jobs/long-side-deck").json
    assert second["digest"] != first["digest"]
    for digest in (first["digest"], second["digest"]):
        assert server.get(f"/phone/jobs/long-side-deck/{digest}.json").json["digest"] == digest
    assert [job["digest"] for job in server.get("/phone/jobs/index.json").json["jobs"]][0] == second["digest"]


def test_the_field_math_is_what_the_compiler_made(server):
    assert server.get(f"/phone/field/{phone.field_digest()}/{phone.FILE}").text == phone.compile_field()


def test_another_pwa_folder_can_be_shipped(tmp_path, pwa):
    (pwa / "app.css").write_text("/* changed */")
    app = create_app(f"sqlite:///{tmp_path / 'other.sqlite3'}", {"PWA": pwa})
    assert app.test_client().get("/phone/app.css").text == "/* changed */"
