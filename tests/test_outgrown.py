"""Outgrown one machine: two server processes on one PostgreSQL and one Redis, begun at once, one of them killed."""
import json
import os
import random
import re
import subprocess
import sys
import threading
import time
from urllib.parse import urlencode

import pytest

from server import create_app
from server.errors import YardtrueError
from server.store import open_store
from server.web import bundles, caching
from tests import throwaway
from tests.bench.standing import ROOT, free_port
from tests.chaos.phone import Phone
from tests.chaos.run import JOB, cookie_of, crew_link, in_crew
from tests.chaos.wire import exchange, heard, read, request
from tests.demo import document
from tests.entered import KEY
from tests.entered import in_crew as app_in_crew
from tests.test_sync import PATH, note, send

psycopg = pytest.importorskip("psycopg", reason="the Python package psycopg is not installed")
Redis = pytest.importorskip("redis", reason="the Python package redis is not installed").Redis
FORM = "application/x-www-form-urlencoded"
PATIENCE = 90


class Process:
    """A `yardtrue serve` on a port of its own; `said` are the lines it has printed."""

    def __init__(self, environment, port=0):
        self.port = port or free_port()
        command = [sys.executable, "-u", "-m", "server", "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )
        self.said = []

    def await_answer(self):
        end = time.monotonic() + PATIENCE
        while not exchange(self.port, b"GET /enter HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n"):
            assert self.process.poll() is None, self.process.stdout.read()
            assert time.monotonic() < end
            time.sleep(0.05)
        return self

    def kill(self):
        """kill -9, and what it had printed."""
        self.process.kill()
        self.said += self.process.communicate()[0].splitlines()


@pytest.fixture
def environment(postgresql, redis_address):
    """The environment of a server on an empty database."""
    Redis.from_url(redis_address).flushall()
    named = {"YARDTRUE_DATABASE_URL": postgresql.database(), "YARDTRUE_CACHE_URL": redis_address}
    return {name: value for name, value in os.environ.items() if name != "YARDTRUE_DESK_KEY"} | named


@pytest.fixture
def served(environment):
    """Begins so many servers at once and waits until all answer; none is left at the end."""
    running = []

    def begin(count, **more):
        started = [Process(environment | more) for _ in range(count)]
        running.extend(started)
        return [one.await_answer() for one in started]

    yield begin
    for one in running:
        if one.process.poll() is None:
            one.kill()


def get(port, path, cookie):
    """The body of a page."""
    status, _, body = read(exchange(port, f"GET {path} HTTP/1.0\r\nHost: 127.0.0.1\r\nCookie: {cookie}\r\n\r\n".encode()))
    assert status == 200
    return body


def test_processes_begun_at_once_on_an_empty_database_all_come_up_with_one_key_one_secret_and_each_demo_job_once(served, environment):
    servers = served(3)
    store = open_store(environment["YARDTRUE_DATABASE_URL"])
    assert [saved.id for saved in store.jobs()] == ["long-side-deck", "pear-tree-platform"]
    cookies = []
    for server in servers:
        server.kill()
    (key,) = {key for server in servers for line in server.said for key in re.findall(r"enter#(\S+)", line)}
    for server in servers:
        again = Process(environment, server.port).await_answer()
        try:
            if not cookies:
                entered = read(exchange(server.port, request("/enter", urlencode({"key": key}).encode(), FORM)))
                cookies.append(cookie_of(entered[1]))
            assert len(json.loads(get(server.port, "/phone/jobs/index.json", cookies[0]))["jobs"]) == 2
        finally:
            again.kill()


def test_a_key_fixed_in_processes_begun_at_once_opens_sessions_that_count_in_all(served):
    servers = served(2, YARDTRUE_DESK_KEY=KEY)
    cookies = [cookie_of(read(exchange(one.port, request("/enter", urlencode({"key": KEY}).encode(), FORM)))[1]) for one in servers]
    for one in servers:
        for cookie in cookies:
            assert len(json.loads(get(one.port, "/phone/jobs/index.json", cookie))["jobs"]) == 2


def test_a_bundle_made_by_one_process_is_found_by_the_other(served, redis_address):
    first, second = served(2, YARDTRUE_DESK_KEY=KEY)
    entered = read(exchange(first.port, request("/enter", urlencode({"key": KEY}).encode(), FORM)))
    cookie = cookie_of(entered[1])
    redis = Redis.from_url(redis_address)

    def asked(port):
        before, hits = writes(redis), redis.info("stats")["keyspace_hits"]
        jobs = json.loads(get(port, "/phone/jobs/index.json", cookie))["jobs"]
        bodies = [get(port, f"/phone/{job['files'][0]}", cookie) for job in jobs]
        return bodies, writes(redis) - before, redis.info("stats")["keyspace_hits"] - hits

    made, _, _ = asked(first.port)
    found, wrote, hits = asked(second.port)
    assert found == made
    assert (wrote, hits) == (0, 4)  # two bundles for the list, two documents; nothing was made anew
    redis.flushall()
    again, wrote, _ = asked(second.port)
    assert again == made
    assert wrote == 4


def writes(redis):
    return sum(one["calls"] for name, one in redis.info("commandstats").items() if name in ("cmdstat_set", "cmdstat_setex"))


def test_phones_sync_with_two_processes_one_is_killed_in_the_middle_and_nothing_is_lost_or_passed_over(served, environment):
    servers = served(2, YARDTRUE_DESK_KEY=KEY)
    cookies = [in_crew(servers[0].port, link) for link in [crew_link(servers[0].port)] for _ in range(4)]
    deck = document(JOB)
    phones = [Phone(deck, f"phone-{n}", cookie, n, random.Random(n)) for n, cookie in enumerate(cookies)]
    faults, done = [], threading.Event()
    threads = [threading.Thread(target=keep_on, args=(phone, [one.port for one in servers], faults, done)) for phone in phones]
    for thread in threads:
        thread.start()
    kills = 0
    while kills < 3 and not faults:
        time.sleep(0.6)
        servers[1].kill()
        kills += 1
        time.sleep(0.2)
        servers[1] = Process(environment | {"YARDTRUE_DESK_KEY": KEY}, servers[1].port).await_answer()
    done.set()
    for thread in threads:
        thread.join()
    try:
        assert not faults
        for number, phone in enumerate([*phones, *phones]):
            assert phone.sync(lambda sent, port=servers[number % 2].port: heard(exchange(port, sent)), rounds=50)
    finally:
        servers[1].kill()
    held = open_store(environment["YARDTRUE_DATABASE_URL"]).entries(JOB)
    made = {id for phone in phones for id, entry in phone.entries.items() if entry["device"] == phone.device}
    assert {entry["id"] for entry in held} == made
    assert len(held) == len(made) > 100
    for phone in phones:
        assert phone.refused == []
        assert json.dumps(phone.book, sort_keys=True) == json.dumps(held, sort_keys=True)
    print(f"{len(held)} entries of 4 phones by 2 processes, {kills} kills")


def keep_on(phone, ports, faults, done):
    """Note and ask without a pause, now one server and now the other, whichever answers."""
    try:
        while not done.is_set():
            for _ in range(phone.chance.randrange(1, 4)):
                phone.note()
            port = phone.chance.choice(ports)
            phone.sync(lambda sent, port=port: heard(exchange(port, sent)), rounds=3)
            time.sleep(0.01)
    except BaseException as fault:
        faults.append(fault)


def numbered(address):
    with psycopg.connect(address) as connection:
        return connection.execute("select arrival, body from entries order by arrival").fetchall()


def test_two_writers_in_processes_of_their_own_leave_no_gap_and_a_reader_sees_every_number_in_its_turn(environment):
    address = environment["YARDTRUE_DATABASE_URL"]
    store = open_store(address)
    job_id = store.add_job({"name": "Two at once"}, lambda *_: "abc")
    program = (
        "import sys; from server.store import open_store; store = open_store(sys.argv[1])\n"
        "for n in range(1, 151): store.add_entries(sys.argv[2], [{'id': f'{sys.argv[3]}{n}', 'n': n, 'device': sys.argv[3]}])\n"
    )
    command = [sys.executable, "-c", program, address, job_id]
    writers = [subprocess.Popen([*command, name], cwd=ROOT) for name in "ab"]
    seen, cursor = [], 0
    while any(writer.poll() is None for writer in writers) or store.entries_since(job_id, cursor, 1)[0]:
        some, cursor, _ = store.entries_since(job_id, cursor, 7)
        seen += [entry["id"] for entry in some]
    assert [writer.returncode for writer in writers] == [0, 0]
    rows = numbered(address)
    assert [number for number, _ in rows] == list(range(1, 301))
    assert seen == [json.loads(body)["id"] for _, body in rows]
    turns = sum(one[0] != other[0] for one, other in zip(seen, seen[1:], strict=False))
    assert turns > 5, "the two did not write at the same time"


@pytest.mark.parametrize(("begin", "package"), [(throwaway.redis, "redis-server"), (throwaway.postgresql, "postgresql")])
def test_a_program_that_is_not_on_this_machine_is_named_with_its_package(monkeypatch, begin, package):
    monkeypatch.setattr(throwaway.shutil, "which", lambda name: None)
    monkeypatch.setattr(throwaway, "DEBIANS", throwaway.Path("/nowhere"))
    with pytest.raises(throwaway.NotHere, match=f"apt-get install {package}"), begin():
        pass


# Servers that go away, drivers that are not there

def test_a_database_that_drops_its_connections_is_found_again(postgresql):
    app = create_app(postgresql.database(), {"DESK_KEY": KEY})
    with app.app_context():
        bundles.store().seed_demo(bundles.digest_of)
    phone = app_in_crew(app, JOB)
    send(phone, [note(1)])
    postgresql.run("select pg_terminate_backend(pid) from pg_stat_activity where pid <> pg_backend_pid() and datname is not null")
    assert send(phone, [note(2)])["kept"] == ["phone-1-2"]


def test_a_cache_that_is_gone_turns_nobody_away(monkeypatch, tmp_path, postgresql):
    with throwaway.redis() as address:
        monkeypatch.setenv("YARDTRUE_CACHE_URL", address)
        app = create_app(postgresql.database(), {"DESK_KEY": KEY})
        with app.app_context():
            bundles.store().seed_demo(bundles.digest_of)
        phone = app_in_crew(app, JOB)
        send(phone, [note(1)])
    assert send(phone, [note(2)])["kept"] == ["phone-1-2"]
    assert app.test_client().post("/enter", data={"key": KEY}).status_code == 303
    assert phone.get("/phone/jobs/index.json").status_code == 200
    assert phone.post(PATH, json={"entries": [], "since": 0}).json["since"] == 2


@pytest.mark.parametrize("address", ["redis://127.0.0.1:1/0", "nonsense", "redis://127.0.0.1:x/0", "http://127.0.0.1/"])
def test_a_cache_that_cannot_be_reached_is_told_at_the_start(monkeypatch, tmp_path, address):
    monkeypatch.setenv("YARDTRUE_CACHE_URL", address)
    with pytest.raises(YardtrueError) as caught:
        create_app(f"sqlite:///{tmp_path / 'x.sqlite3'}")
    assert caught.value.code == "cache-unreachable"


def test_how_long_a_cache_is_waited_for_is_the_addresss_own_say_first():
    assert caching.impatient("redis://name@host:7/2") == "redis://name@host:7/2?socket_timeout=2&socket_connect_timeout=2"
    assert "socket_timeout=9" in caching.impatient("redis://host?socket_timeout=9")
    assert "socket_timeout=2" not in caching.impatient("redis://host?socket_timeout=9")


MISSING = [("psycopg", "postgresql://nobody@127.0.0.1/x", "store-driver", "yardtrue[postgresql]"),
           ("redis", "sqlite://", "cache-driver", "yardtrue[redis]")]


@pytest.mark.parametrize(("package", "database", "code", "install"), MISSING)
def test_a_driver_that_is_not_installed_is_named_with_what_to_install(monkeypatch, package, database, code, install):
    monkeypatch.setenv("YARDTRUE_CACHE_URL", "redis://127.0.0.1:1/0")
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(YardtrueError) as caught:
        create_app(database)
    assert caught.value.code == code
    assert package in str(caught.value)
    assert install in caught.value.plain()["error"]["fix"]


def test_a_database_of_no_known_kind_is_told():
    with pytest.raises(YardtrueError) as caught:
        open_store("nosuch+kind://nobody@127.0.0.1/x")
    assert caught.value.code == "store-address"


@pytest.mark.parametrize("address", ["postgresql://nobody@127.0.0.1:1/x", "postgresql://nobody@/x?host=/nowhere"])
def test_a_postgresql_that_does_not_answer_is_told(address):
    with pytest.raises(YardtrueError) as caught:
        open_store(address)
    assert caught.value.code == "store-unreachable"
