"""The store on PostgreSQL: every test of the store that is not about a SQLite file, run once more; and an old schema."""
import pytest

from server.errors import YardtrueError
from server.store import open_store
from tests import test_store
from tests.test_store import OLD, digest_of, entry, job_id, store  # noqa: F401 (fixtures among them)

psycopg = pytest.importorskip("psycopg", reason="the Python package psycopg is not installed")
ONLY_SQLITE = {
    "test_deleting_takes_the_revisions_too",
    "test_the_database_waits_for_the_disk_and_lets_readers_through",
    "test_a_database_of_another_version_is_left_alone",
    "test_a_database_of_schema_1_is_brought_up_in_place",
    "test_a_torn_file_is_reported_in_a_sentence_and_not_a_byte_of_it_is_changed",
    "test_a_file_cut_to_nothing_beside_its_log_is_torn_and_an_empty_one_is_new",
    "test_tokens_and_keys_are_long_and_stand_nowhere_in_the_file",
}
TESTS = {name: test for name, test in vars(test_store).items() if name.startswith("test_")}
globals().update({name: test for name, test in TESTS.items() if name not in ONLY_SQLITE})


@pytest.fixture
def address(postgresql):
    return postgresql.database()


def asked(address, statement):
    with psycopg.connect(address) as connection:
        found = connection.execute(statement)
        return found.fetchall() if found.description else None


def test_what_is_left_out_is_there_on_sqlite():
    assert set(TESTS) >= ONLY_SQLITE


def test_a_postgresql_database_of_schema_1_is_brought_up_in_place(address):
    asked(address, OLD)
    upgraded = open_store(address)
    assert [(saved.id, saved.spec["width"], saved.digest) for saved in upgraded.jobs()] == [("fern-3f9a1c", "26'", "abc")]
    assert upgraded.add_entries("fern-3f9a1c", [entry(1)]).kept == ("e1",)
    assert upgraded.new_link("fern-3f9a1c")
    assert upgraded.seed_demo(digest_of) == ["pear-tree-platform"]
    assert len(open_store(address).entries("fern-3f9a1c")) == 1
    assert asked(address, "select value from meta where key = 'schema'") == [("2",)]


def test_a_postgresql_database_of_another_version_is_left_alone(store, address):  # noqa: F811
    asked(address, "update meta set value = '99' where key = 'schema'")
    with pytest.raises(YardtrueError) as caught:
        open_store(address)
    assert caught.value.code == "store-version"
    assert asked(address, "select value from meta where key = 'schema'") == [("99",)]


def test_deleting_a_job_leaves_no_row_of_it(store, job_id, address):  # noqa: F811
    store.add_entries(job_id, [entry(1)])
    store.new_link(job_id)
    store.delete(job_id)
    counts = "select (select count(*) from revisions), (select count(*) from entries), (select count(*) from links)"
    assert asked(address, counts) == [(0, 0, 0)]


def test_of_two_writers_of_one_job_the_second_waits_until_the_first_is_seen_by_all(store, job_id, address):  # noqa: F811
    """The lock itself: while it is held by a foreign transaction, entries of this job wait, those of another do not."""
    other = store.add_job({"name": "Other"}, digest_of)
    with psycopg.connect(address) as foreign:
        foreign.execute("update jobs set arrived = arrived where id = %s", (job_id,))
        impatient = open_store(f"{address}&options=-c%20lock_timeout%3D300")
        with pytest.raises(YardtrueError) as caught:
            impatient.add_entries(job_id, [entry(1)])
        assert caught.value.code == "store-busy"
        assert impatient.add_entries(other, [entry(2)]).kept == ("e2",)
    assert store.entries(job_id) == []
    assert impatient.add_entries(job_id, [entry(1)]).kept == ("e1",)
