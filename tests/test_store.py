"""The store: specs as given, a revision only when the spec changed, demo jobs once."""
import sqlite3
import threading

import pytest

from server.errors import NotFound, YardtrueError
from server.store import new_id, open_store, spec_text

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
        assert connection.execute("select value from meta where key = 'schema'").fetchone() == ("1",)
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
