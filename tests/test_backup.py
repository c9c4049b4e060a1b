"""Everything in one file and back: whole or not at all, and nothing that is there is lost on the way."""
from __future__ import annotations

import hashlib
import io
import json
import os
import stat
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from sqlalchemy import insert, text

from server.cli import main
from server.errors import NotFound, YardtrueError
from server.store import Store, backup, open_store, restore, restoring, write_backup
from server.store.rows import EntryRow, JobRow

NAMES = ["Fern bank", "<img src=x onerror=alert(1)>", "\u202eback \u4e2d\u6587 \U0001f528", "A \\ \"quoted\" 'deck'\u2028"]
POSTGRES = os.environ.get("YARDTRUE_TEST_POSTGRES", "")  # an empty database to write to and empty again


def digest_of(job_id: str, spec: dict[str, Any]) -> str:
    return hashlib.sha256(f"{job_id}{spec}".encode()).hexdigest()[:16]


def entry(number: int, device: str = "phone", **more: Any) -> dict[str, Any]:
    return {"id": f"{device}-{number}", "n": number, "device": device, "at": "2026-05-04T08:00:00Z", "kind": "note", **more}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(f"sqlite:///{tmp_path / 'jobs.sqlite3'}")


@pytest.fixture(params=["sqlite", "postgres"])
def other(request: pytest.FixtureRequest, tmp_path: Path) -> Store:
    """An empty database of another kind or place."""
    if request.param == "sqlite":
        return open_store(f"sqlite:///{tmp_path / 'other.sqlite3'}")
    if not POSTGRES:
        pytest.skip("YARDTRUE_TEST_POSTGRES names no PostgreSQL database to test on")
    found = open_store(POSTGRES)
    with found._session() as session:
        restoring.empty(session)
    return found


def filled(store: Store) -> dict[str, Any]:
    """Jobs with revisions, entries of two phones, links alive and withdrawn, a desk key, a secret, demos given."""
    ids = [store.add_job({"name": name, "width": "26'"}, digest_of) for name in NAMES]
    store.save_revision(ids[0], {"name": NAMES[0], "width": "24'"}, digest_of)
    for job_id in ids[:2]:
        store.add_entries(job_id, [entry(n, device, text=NAMES[n % 4], inches=0.1 * n) for n in range(1, 40) for device in ("a", "b")])
    withdrawn, token = store.new_link(ids[0]), store.new_link(ids[0])
    store.seed_demo(digest_of)
    store.delete("pear-tree-platform")
    return {"ids": ids, "token": token, "withdrawn": withdrawn, "key": store.new_desk_key(), "secret": store.secret()}


def tables(path: Path) -> dict[str, bytes]:
    """What a backup holds besides its manifest."""
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != backup.MANIFEST}


def content(store: Store, folder: Path) -> dict[str, bytes]:
    """All that a database holds, as a backup of it tells."""
    path = folder / "content.zip"
    write_backup(store, path, force=True)
    return tables(path)


def repacked(path: Path, change: Callable[[dict[str, bytes]], None], vouch: bool = True) -> None:
    """A backup with some of its content changed by hand; `vouch`: its manifest says so."""
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    if vouch:
        manifest = json.loads(files[backup.MANIFEST])
        for table, told in manifest["tables"].items():
            lines = files.get(f"{table}.jsonl", b"")
            told |= {"sha256": hashlib.sha256(lines).hexdigest(), "rows": lines.count(b"\n")}
        files[backup.MANIFEST] = json.dumps(manifest).encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, held in files.items():
            archive.writestr(name, held)


def refused(code: str, store: Store, path: Path, **how: Any) -> None:
    """A restore that is refused with this sentence, and leaves the database as it was."""
    folder = path.parent
    before = content(store, folder)
    with pytest.raises(YardtrueError) as caught:
        restore(store, path, **how)
    assert caught.value.code == code
    assert content(store, folder) == before


def test_what_comes_back_is_the_same_and_works_as_before(store: Store, other: Store, tmp_path: Path) -> None:
    held = filled(store)
    first, second = tmp_path / "first.zip", tmp_path / "second.zip"
    rows = write_backup(store, first)
    assert rows["entries"] == 2 * 2 * 39
    assert rows["jobs"] == len(NAMES) + 1
    found = restore(other, first)
    assert found.rows == rows
    write_backup(other, second)
    assert tables(second) == tables(first)
    assert other.is_desk_key(held["key"])
    assert other.job_of_link(held["token"])[1] == held["ids"][0]
    with pytest.raises(NotFound):
        other.job_of_link(held["withdrawn"])
    assert other.seed_demo(digest_of) == [], "a demo that was deleted stays deleted"
    for job_id in held["ids"]:
        assert other.revisions(job_id) == store.revisions(job_id)
        assert other.entries(job_id) == store.entries(job_id)
        assert other.entries_since(job_id, 5, 20) == store.entries_since(job_id, 5, 20)
        for one in (store, other):
            one.add_entries(job_id, [entry(99, "c")])
        assert other.entries_since(job_id, 0, 999) == store.entries_since(job_id, 0, 999)


def test_the_same_content_is_the_same_bytes_but_for_the_time(store: Store, tmp_path: Path) -> None:
    filled(store)
    assert content(store, tmp_path) == content(store, tmp_path)


def test_neither_the_secret_nor_a_key_nor_a_token_is_in_it(store: Store, other: Store, tmp_path: Path) -> None:
    held = filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    everything = b"".join(tables(path).values())
    for word in (held["secret"].hex(), held["token"], held["withdrawn"], held["key"], held["key"].replace("-", "")):
        assert word.encode() not in everything
    assert b'"secret"' not in everything
    before = other.secret()
    restore(other, path)
    assert other.secret() not in (before, held["secret"]), "sessions begun on either database end"


def test_only_its_owner_reads_it_and_nothing_is_left_beside_it(store: Store, tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    write_backup(store, folder / "b.zip")
    assert stat.S_IMODE((folder / "b.zip").stat().st_mode) == 0o600
    assert [path.name for path in folder.iterdir()] == ["b.zip"]


def test_a_file_that_is_there_is_kept_unless_told(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "b.zip"
    path.write_text("not to be lost")
    with pytest.raises(YardtrueError) as caught:
        write_backup(store, path)
    assert caught.value.code == "backup-there"
    assert path.read_text() == "not to be lost"
    write_backup(store, path, force=True)
    assert zipfile.is_zipfile(path)


def test_a_backup_that_breaks_off_leaves_the_one_before(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    filled(store)
    folder = tmp_path / "kept"
    folder.mkdir()
    path = folder / "b.zip"
    write_backup(store, path)
    before = path.read_bytes()

    def full(*_given: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup, "pack_table", full)
    with pytest.raises(YardtrueError, match="No space left on device"):
        write_backup(store, path, force=True)
    assert path.read_bytes() == before
    assert [one.name for one in folder.iterdir()] == ["b.zip"]


def test_what_is_written_between_two_tables_is_in_none_of_them(other: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The snapshot is of one moment: a job and its entries added while the tables are read are wholly left out."""
    held = filled(other)
    before = content(other, tmp_path)
    pack_table, done = backup.pack_table, []

    def slowly(connection: Any, archive: Any, table: Any) -> Any:
        told = pack_table(connection, archive, table)
        if not done:
            done.append(other.add_job({"name": "Meanwhile"}, digest_of))
            other.add_entries(held["ids"][0], [entry(500, "late")])
        return told

    monkeypatch.setattr(backup, "pack_table", slowly)
    assert content(other, tmp_path) == before
    assert content(other, tmp_path) != before


def test_backups_made_while_phones_send_are_whole(other: Store, tmp_path: Path) -> None:
    ids = [other.add_job({"name": name}, digest_of) for name in NAMES]
    over = threading.Event()

    def phone(job_id: str) -> None:
        for n in range(1, 400):
            if over.is_set():
                return
            other.add_entries(job_id, [entry(3 * n + k) for k in range(3)])

    threads = [threading.Thread(target=phone, args=(job_id,)) for job_id in ids]
    for thread in threads:
        thread.start()
    seen = set()
    for k in range(12):
        found = content(other, tmp_path)
        jobs = [json.loads(line) for line in found["jobs.jsonl"].splitlines()]
        arrivals: dict[str, list[int]] = {job["id"]: [] for job in jobs}
        for line in found["entries.jsonl"].splitlines():
            row = json.loads(line)
            arrivals[row["job_id"]].append(row["arrival"])
        for job in jobs:
            assert sorted(arrivals[job["id"]]) == list(range(1, job["arrived"] + 1)), k
            assert job["arrived"] % 3 == 0
        seen.add(sum(job["arrived"] for job in jobs))
    over.set()
    for thread in threads:
        thread.join()
    assert len(seen) > 1, "entries came between the backups"


def test_a_torn_file_is_refused_wherever_it_breaks_off(store: Store, other: Store, tmp_path: Path) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    whole = path.read_bytes()
    for size in [*range(4, len(whole), max(1, len(whole) // 60)), len(whole) - 1]:
        path.write_bytes(whole[:size])
        refused("restore-torn", other, path)
    path.write_bytes(whole)
    restore(other, path)


def test_a_changed_byte_is_refused_or_changes_nothing(store: Store, other: Store, tmp_path: Path) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    whole, wanted = path.read_bytes(), tables(path)
    kept = 0
    for at in range(0, len(whole), max(1, len(whole) // 150)):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
        said = ""
        try:
            restore(other, path, replace=True)
        except YardtrueError as error:
            said = error.code
        assert said in ("", "restore-torn", "restore-foreign", "restore-schema"), at
        if not said:
            kept += 1
            assert content(other, tmp_path) == wanted, at
    assert kept < 30, "bytes that say nothing, such as dates of the files in it"


@pytest.mark.parametrize("given", [b"", b"hello", b"PK", b"SQLite format 3\x00" * 20, b"\x00" * 5000])
def test_a_foreign_file_is_refused(store: Store, tmp_path: Path, given: bytes) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    path.write_bytes(given)
    refused("restore-foreign", store, path, replace=True)


@pytest.mark.parametrize("files", [{"a.txt": b"x"}, {"manifest.json": b'{"kind": "x"}'}, {"manifest.json": b"[]"}])
def test_a_foreign_zip_is_refused(store: Store, tmp_path: Path, files: dict[str, bytes]) -> None:
    path = tmp_path / "b.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name, held in files.items():
            archive.writestr(name, held)
    refused("restore-foreign", store, path)


def test_a_file_that_is_not_there_is_told(store: Store, tmp_path: Path) -> None:
    refused("restore-file", store, tmp_path / "none.zip")
    refused("restore-file", store, tmp_path)


@pytest.mark.parametrize("change", [{"schema": "3"}, {"schema": "1"}, {"format": 2}, {"schema": None}])
def test_another_versions_backup_is_refused(store: Store, other: Store, tmp_path: Path, change: dict[str, Any]) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)

    def newer(files: dict[str, bytes]) -> None:
        files[backup.MANIFEST] = json.dumps(json.loads(files[backup.MANIFEST]) | change).encode()

    repacked(path, newer)
    refused("restore-schema", other, path)


def line(**row: Any) -> bytes:
    return json.dumps(row).encode() + b"\n"


JOB = {"id": "x", "created": "2026", "arrived": 0}
WRONG: dict[str, tuple[str, bytes]] = {
    "a column too many": ("jobs.jsonl", line(**JOB, more=1)),
    "a column missing": ("jobs.jsonl", line(id="x", created="2026")),
    "text for a number": ("jobs.jsonl", line(**JOB | {"arrived": "1"})),
    "true for a number": ("jobs.jsonl", line(**JOB | {"arrived": True})),
    "a number too large": ("jobs.jsonl", line(**JOB | {"arrived": 2**40})),
    "nothing for text": ("jobs.jsonl", line(**JOB | {"created": None})),
    "a null byte": ("jobs.jsonl", line(**JOB | {"id": "x\0y"})),
    "half a character": ("jobs.jsonl", line(**JOB | {"id": "\ud800"})),
    "a job twice": ("jobs.jsonl", line(**JOB) + line(**JOB)),
    "an entry of no job": ("entries.jsonl", line(job_id="nowhere", id="x", arrival=1, body="{}")),
    "no object": ("jobs.jsonl", b"[1]\n"),
    "no JSON": ("jobs.jsonl", b"{\n"),
    "deep JSON": ("jobs.jsonl", b"[" * 100_000 + b"\n"),
    "a line that does not end": ("jobs.jsonl", line(**JOB)[:-1]),
    "a secret brought along": ("meta.jsonl", line(key="secret", value="00" * 32)),
    "another schema's number": ("meta.jsonl", line(key="schema", value="9")),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_backup_put_together_by_hand_changes_nothing(store: Store, tmp_path: Path, wrong: str) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    name, more = WRONG[wrong]

    def change(files: dict[str, bytes]) -> None:
        files[name] += more

    repacked(path, change)
    refused("restore-torn", store, path, replace=True)


@pytest.mark.parametrize("change", [
    lambda files: files.pop("links.jsonl"), lambda files: files.update({"../evil": b"x"}),
    lambda files: files.update({"manifest.json": b"{"}), lambda files: files.update({"jobs.jsonl": b""}),
])  # fmt: skip
def test_a_backup_with_other_files_than_its_manifest_says_is_refused(store: Store, tmp_path: Path, change: Callable[[Any], None]) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    repacked(path, change, vouch=False)
    refused("restore-torn", store, path, replace=True)


def test_a_database_with_jobs_is_kept_unless_told(store: Store, other: Store, tmp_path: Path) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    mine = other.add_job({"name": "Mine"}, digest_of)
    other.add_entries(mine, [entry(1)])
    token = other.new_link(mine)
    refused("restore-not-empty", other, path)
    assert other.job_of_link(token)[1] == mine
    restore(other, path, replace=True)
    assert content(other, tmp_path) == tables(path)
    with pytest.raises(NotFound):
        other.job(mine)


def test_a_restore_that_breaks_in_the_middle_changes_nothing(store: Store, other: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    filled(store)
    path = tmp_path / "b.zip"
    write_backup(store, path)
    other.add_job({"name": "Mine"}, digest_of)
    calls = []

    def breaking(table: Any) -> Any:
        calls.append(table)
        if len(calls) == 4:
            raise OSError(5, "Input/output error")
        return insert(table)

    monkeypatch.setattr(restoring, "insert", breaking)
    refused("restore-file", other, path, replace=True)
    assert len(calls) == 4


def test_nothing_of_a_table_is_forgotten_when_tables_are_added() -> None:
    assert {table.name for table in backup.TABLES} == {"meta", "jobs", "revisions", "entries", "links"}
    order = [table.name for table in backup.TABLES]
    assert order.index("jobs") < min(order.index(name) for name in ("revisions", "entries", "links"))


def test_both_at_the_command_line(store: Store, tmp_path: Path) -> None:
    held = filled(store)
    address, path = str(store.engine.url), str(tmp_path / "kept.zip")
    told = CliRunner().invoke(main, ["backup", path, "--database", address])
    assert told.exit_code == 0
    assert f"{len(NAMES) + 1} jobs, {len(NAMES) + 2} revisions, 156 entries, 2 crew links" in told.output
    again = CliRunner().invoke(main, ["backup", path, "--database", address])
    assert again.exit_code == 2
    assert "is there already" in again.output
    assert CliRunner().invoke(main, ["backup", path, "--force", "--database", address]).exit_code == 0
    full = CliRunner().invoke(main, ["restore", path, "--database", address])
    assert full.exit_code == 2
    assert "--replace" in full.output
    new = f"sqlite:///{tmp_path / 'new.sqlite3'}"
    done = CliRunner().invoke(main, ["restore", path, "--database", new])
    assert done.exit_code == 0
    assert "156 entries" in done.output
    assert "take them in at the desk" in done.output
    assert open_store(new).is_desk_key(held["key"])
    assert CliRunner().invoke(main, ["restore", path, "--replace", "--database", address]).exit_code == 0
    nowhere = CliRunner().invoke(main, ["backup", str(tmp_path / "no" / "such" / "b.zip"), "--database", address])
    assert nowhere.exit_code == 2
    assert "cannot be written" in nowhere.output


def test_a_damaged_archive_member_names_no_path_outside(store: Store, tmp_path: Path) -> None:
    """Nothing of a backup is ever unpacked to a path it names."""
    with store._session() as session:
        session.add(JobRow(id="../../x", created="2026"))
        session.flush()
        session.add(EntryRow(job_id="../../x", id="../y", arrival=1, body="{}"))
        session.execute(text("UPDATE jobs SET arrived = 1"))
    path = tmp_path / "b.zip"
    write_backup(store, path)
    fresh = open_store(f"sqlite:///{tmp_path / 'fresh.sqlite3'}")
    before = {one.name for one in tmp_path.iterdir()}
    restore(fresh, path)
    assert {one.name for one in tmp_path.iterdir()} - before <= {"fresh.sqlite3-wal", "fresh.sqlite3-shm"}
    assert zipfile.ZipFile(io.BytesIO(path.read_bytes())).testzip() is None
