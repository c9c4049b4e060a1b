"""The store: specs as given, entries held once, links and keys only as hashes; older files brought up, torn ones left alone."""
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from server.errors import NotFound, YardtrueError
from server.store import Taken, new_id, open_store, spec_text

SPEC = {"name": "Fern bank <deck>", "width": "26'", "beams": [{"setback": "1'"}]}


def digest_of(job_id, spec):
    return f"{job_id}:{len(spec_text(spec))}"


@pytest.fixture
def address(tmp_path):
    return f"sqlite:///{tmp_path / 'jobs.sqlite3'}"


@pytest.fixture
def store(address):
    return open_store(address)


def test_a_job_comes_back_as_it_was_given(store, address):
    job_id = store.add_job(SPEC, digest_of)
    saved = open_store(address).job(job_id)
    assert (saved.id, saved.number, saved.spec, saved.digest) == (job_id, 1, SPEC, digest_of(job_id, SPEC))


def test_a_revision_is_appended_only_when_the_spec_changed(store):
    job_id = store.add_job(SPEC, digest_of)
    assert store.save_revision(job_id, dict(reversed(SPEC.items())), digest_of) == 1
    assert store.save_revision(job_id, SPEC | {"width": "24'"}, digest_of) == 2
    assert store.save_revision(job_id, SPEC, digest_of) == 3
    assert [saved.number for saved in store.revisions(job_id)] == [3, 2, 1]
    assert store.job(job_id).spec == SPEC


def test_jobs_are_listed_once_each_at_their_newest(store):
    first, second = store.add_job(SPEC, digest_of), store.add_job(SPEC, digest_of)
    store.save_revision(first, SPEC | {"width": "20'"}, digest_of)
    assert [(saved.id, saved.number) for saved in store.jobs()] == [(first, 2), (second, 1)]


def test_nothing_is_saved_when_the_plan_refuses(store):
    def refuses(job_id, spec):
        raise ValueError
    with pytest.raises(ValueError):  # noqa: PT011 (the very error of the planner above)
        store.add_job(SPEC, refuses)
    assert store.jobs() == []


def test_deleting_takes_the_revisions_too(store, address):
    job_id = store.add_job(SPEC, digest_of)
    store.delete(job_id)
    with pytest.raises(NotFound):
        store.job(job_id)
    with pytest.raises(NotFound):
        store.delete(job_id)
    rows = sqlite3.connect(address.removeprefix("sqlite:///")).execute("select count(*) from revisions").fetchone()
    assert rows == (0,)


def test_demo_jobs_come_once_and_a_deleted_one_stays_deleted(store):
    assert store.seed_demo(digest_of) == ["long-side-deck", "pear-tree-platform"]
    assert store.seed_demo(digest_of) == []
    store.delete("long-side-deck")
    assert store.seed_demo(digest_of) == []
    assert [saved.id for saved in store.jobs()] == ["pear-tree-platform"]


def test_the_database_waits_for_the_disk_and_lets_readers_through(store):
    with store.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_writers_at_the_same_time_all_get_in(store):
    threads = [threading.Thread(target=store.add_job, args=(SPEC, digest_of)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({saved.id for saved in store.jobs()}) == 8


def test_a_database_of_another_version_is_left_alone(store, address):
    path = address.removeprefix("sqlite:///")
    with sqlite3.connect(path) as connection:
        assert connection.execute("select value from meta where key = 'schema'").fetchone() == ("2",)
        connection.execute("update meta set value = '99' where key = 'schema'")
    with pytest.raises(YardtrueError) as caught:
        open_store(address)
    assert caught.value.code == "store-version"
    assert "99" in str(caught.value)


@pytest.mark.parametrize(
    ("name", "start"),
    [("Fern Bank  Deck!", "fern-bank-deck-"), ("<img src=x>", "img-src-x-"), ("  ", "job-"),
     ("Terrasse 東", "terrasse-"), ("x" * 80, "x" * 32 + "-"), (None, "job-")],
)
def test_ids_are_readable_safe_in_an_address_and_never_the_same(name, start):
    first, second = new_id(name), new_id(name)
    assert first.startswith(start)
    assert first != second
    assert len(first) <= 39
    assert first.replace("-", "").isalnum()
    assert first.isascii()


# Older files, torn files

OLD = """
CREATE TABLE meta (key VARCHAR NOT NULL, value VARCHAR NOT NULL, PRIMARY KEY (key));
CREATE TABLE jobs (id VARCHAR NOT NULL, created VARCHAR NOT NULL, PRIMARY KEY (id));
CREATE TABLE revisions (job_id VARCHAR NOT NULL, number INTEGER NOT NULL, spec VARCHAR NOT NULL, digest VARCHAR NOT NULL,
    created VARCHAR NOT NULL, PRIMARY KEY (job_id, number), FOREIGN KEY(job_id) REFERENCES jobs (id) ON DELETE CASCADE);
INSERT INTO meta VALUES ('schema', '1'), ('demo', '["long-side-deck"]');
INSERT INTO jobs VALUES ('fern-3f9a1c', '2026-05-01T08:00:00.000000+00:00');
INSERT INTO revisions VALUES ('fern-3f9a1c', 1, '{"name":"Fern bank","width":"26''"}', 'abc', '2026-05-01T08:00:00.000000+00:00');
"""


def file_of(address):
    return Path(address.removeprefix("sqlite:///"))


def test_a_database_of_schema_1_is_brought_up_in_place(address):
    with sqlite3.connect(file_of(address)) as connection:
        connection.executescript(OLD)
    store = open_store(address)
    assert [(saved.id, saved.spec["width"], saved.digest) for saved in store.jobs()] == [("fern-3f9a1c", "26'", "abc")]
    assert store.add_entries("fern-3f9a1c", [entry(1)]).kept == ("e1",)
    assert store.new_link("fern-3f9a1c")
    assert store.seed_demo(digest_of) == ["pear-tree-platform"]
    again = open_store(address)
    assert len(again.entries("fern-3f9a1c")) == 1
    with again.engine.connect() as connection:
        assert connection.exec_driver_sql("select value from meta where key = 'schema'").scalar() == "2"


def test_several_processes_may_open_a_new_database_at_once(address):
    program = f"from server.store import open_store; print(open_store({address!r}).secret().hex())"
    running = [subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True) for _ in range(4)]
    said = {process.communicate()[0] for process in running}
    assert [process.returncode for process in running] == [0] * 4
    assert len(said) == 1


def torn_header(content):
    return b"not a database at all" + content[21:]


def torn_middle(content):
    return content[:4096] + b"\xa5" * (len(content) - 4096)


def torn_end(content):
    return content[: len(content) // 2 // 4096 * 4096 + 100]


@pytest.mark.parametrize("tear", [torn_header, torn_middle, torn_end])
def test_a_torn_file_is_reported_in_a_sentence_and_not_a_byte_of_it_is_changed(store, address, tear):
    job_id = store.add_job(SPEC, digest_of)
    store.add_entries(job_id, [entry(n) for n in range(1, 200)])
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    store.engine.dispose()
    torn = tear(file_of(address).read_bytes())
    file_of(address).write_bytes(torn)
    with pytest.raises(YardtrueError) as caught:
        open_store(address)
    assert caught.value.code == "store-torn"
    assert str(file_of(address)) in str(caught.value)
    assert file_of(address).read_bytes() == torn


def test_a_file_cut_to_nothing_beside_its_log_is_torn_and_an_empty_one_is_new(address):
    file_of(address).touch()
    open_store(address).engine.dispose()
    file_of(address).write_bytes(b"")
    log = Path(f"{file_of(address)}-wal")
    log.write_bytes(b"x" * 100)
    with pytest.raises(YardtrueError) as caught:
        open_store(address)
    assert caught.value.code == "store-torn"
    assert (file_of(address).read_bytes(), log.read_bytes()) == (b"", b"x" * 100)


@pytest.mark.parametrize(("wrong", "code"), [("nonsense", "store-address"), ("sqlite:////proc/none/x.sqlite3", "store-unreachable")])
def test_an_address_that_leads_nowhere_is_told(wrong, code):
    with pytest.raises(YardtrueError) as caught:
        open_store(wrong)
    assert caught.value.code == code


# Entries

def entry(n, device="phone", **more):
    return {"id": f"e{n}", "n": n, "device": device, "kind": "note", "text": "ready"} | more


@pytest.fixture
def job_id(store):
    return store.add_job(SPEC, digest_of)


def test_an_entry_is_held_once_however_often_it_comes(store, job_id):
    assert store.add_entries(job_id, [entry(2), entry(1), entry(2)]) == Taken(("e2", "e1"), ())
    assert store.add_entries(job_id, [entry(1), entry(3)]) == Taken(("e1", "e3"), ())
    assert store.entries(job_id) == [entry(1), entry(2), entry(3)]
    assert store.entries_since(job_id, 0, 10) == ([entry(2), entry(1), entry(3)], 3, False)


def test_another_content_under_a_held_id_is_told_and_changes_nothing(store, job_id):
    store.add_entries(job_id, [entry(1)])
    assert store.add_entries(job_id, [entry(2), entry(1, text="changed"), entry(2, text="both")]) == Taken((), ("e1", "e2"))
    assert store.entries(job_id) == [entry(1), entry(2)]


def test_a_whole_number_and_its_float_are_one_content(store, job_id):
    store.add_entries(job_id, [entry(1, inches=120.0)])
    assert store.add_entries(job_id, [entry(1, inches=120)]).kept == ("e1",)


def test_the_order_of_the_book_is_by_code_points_in_every_database(store, job_id):
    devices = ["b", "Z", "a", "é", "_", "東"]
    store.add_entries(job_id, [entry(1, device, id=f"{device}1") for device in devices])
    assert [one["device"] for one in store.entries(job_id)] == sorted(devices)


def test_entries_since_goes_on_from_its_cursor_and_says_when_there_are_more(store, job_id):
    store.add_entries(job_id, [entry(n) for n in range(1, 8)])
    seen, cursor, more = [], 0, True
    while more:
        some, cursor, more = store.entries_since(job_id, cursor, 3)
        seen.append([one["n"] for one in some])
    assert (seen, cursor) == ([[1, 2, 3], [4, 5, 6], [7]], 7)
    assert store.entries_since(job_id, 7, 3) == ([], 7, False)
    assert store.entries_since(job_id, 99, 3) == ([], 7, False), "a cursor from before the database was put back"


def test_an_answer_is_held_to_a_mebibyte_but_never_to_nothing(store, job_id):
    store.add_entries(job_id, [entry(n, text="x" * 600_000) for n in (1, 2)] + [entry(3, text="x" * 2_000_000)])
    seen, cursor = [], 0
    for _ in range(3):
        some, cursor, more = store.entries_since(job_id, cursor, 500)
        seen.append(([one["n"] for one in some], more))
    assert seen == [([1], True), ([2], True), ([3], False)]


def test_writers_at_once_get_numbers_without_a_gap_and_no_reader_passes_one_over(store, job_id, address):
    seen, done = [], threading.Event()

    def write(name):
        own = open_store(address)
        for n in range(1, 26):
            own.add_entries(job_id, [entry(n, name, id=f"{name}{n}"), entry(n, name, id=f"{name}{n}b")])

    def read():
        cursor = 0
        while not done.is_set() or store.entries_since(job_id, cursor, 1)[0]:
            some, cursor, _ = store.entries_since(job_id, cursor, 7)
            seen.extend(one["id"] for one in some)

    writers = [threading.Thread(target=write, args=(name,)) for name in "abcd"]
    reader = threading.Thread(target=read)
    for thread in (*writers, reader):
        thread.start()
    for thread in writers:
        thread.join()
    done.set()
    reader.join()
    assert len(seen) == len(set(seen)) == 200
    assert {one["id"] for one in store.entries(job_id)} == set(seen)


@pytest.mark.parametrize("nowhere", ["nope", "nul\0byte", "half\ud800", "../jobs", ""])
def test_a_job_that_is_not_there_takes_and_gives_nothing(store, nowhere):
    for ask in (store.job, store.delete, store.new_link, store.withdraw_link, lambda it: store.add_entries(it, [entry(1)])):
        with pytest.raises(NotFound):
            ask(nowhere)


def test_deleting_a_job_takes_its_field_book_and_its_link(store, job_id):
    store.add_entries(job_id, [entry(1)])
    token = store.new_link(job_id)
    store.delete(job_id)
    assert store.entries(job_id) == []
    with pytest.raises(NotFound):
        store.job_of_link(token)


# Links

def test_a_link_opens_its_job_until_it_is_withdrawn_or_made_anew(store, job_id):
    assert store.link(job_id) is None
    first = store.new_link(job_id)
    link_id, found = store.job_of_link(first)
    assert (found, store.link(job_id).id, store.live_links([link_id, "other"])) == (job_id, link_id, {link_id: job_id})
    second = store.new_link(job_id)
    for dead in (first, "", "x", second + "x", "half\ud800"):
        with pytest.raises(NotFound) as caught:
            store.job_of_link(dead)
        assert caught.value.code == "no-such-link"
    assert store.live_links([link_id]) == {}
    assert store.job_of_link(second)[1] == job_id
    store.withdraw_link(job_id)
    assert store.link(job_id) is None
    with pytest.raises(NotFound):
        store.job_of_link(second)


def test_tokens_and_keys_are_long_and_stand_nowhere_in_the_file(store, job_id, address):
    token, key = store.new_link(job_id), store.new_desk_key()
    assert len(token) >= 32
    store.engine.dispose()
    content = b"".join(path.read_bytes() for path in file_of(address).parent.iterdir())
    assert token.encode() not in content
    assert key.encode() not in content
    assert key.replace("-", "").encode() not in content


# The desk's key

def test_the_desk_key_is_made_once_and_known_however_it_is_typed(store, address):
    assert not store.has_desk_key()
    assert not store.is_desk_key("")
    key = store.first_desk_key()
    assert open_store(address).first_desk_key() == ""
    assert all(store.is_desk_key(typed) for typed in (key, key.lower(), f" {key.replace('-', ' ')} "))
    assert not any(store.is_desk_key(wrong) for wrong in ("", key[:-1], key + "A", "half\ud800"))
    assert not set("01IO") & set(key)
    assert len(key.replace("-", "")) * 5 >= 128


def test_a_new_key_ends_the_old_one_and_its_sessions(store):
    old, before = store.first_desk_key(), store.desk_generation()
    new = store.new_desk_key()
    assert (store.is_desk_key(old), store.is_desk_key(new)) == (False, True)
    assert store.desk_generation() != before != ""


def test_a_fixed_key_is_kept_and_a_short_one_refused(store):
    store.fix_desk_key("a key of our own making")
    generation = store.desk_generation()
    store.fix_desk_key("A-KEY-OF-OUR-OWN-MAKING")
    assert store.desk_generation() == generation
    with pytest.raises(YardtrueError) as caught:
        store.fix_desk_key("short - - - - - - -")
    assert caught.value.code == "desk-key-short"


def test_the_secret_is_made_once(store, address):
    assert len(store.secret()) == 32
    assert open_store(address).secret() == store.secret()
