"""Throwaway servers, gone without a trace at the end: a PostgreSQL cluster and a Redis, where their programs are there."""
from __future__ import annotations

import importlib.util
import itertools
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.bench.standing import free_port

PATIENCE = 60.0
NAME = "yardtrue"
DEBIANS = Path("/usr/lib/postgresql")  # where Debian has the programs of each version


class NotHere(Exception):
    """What lacks on this machine, in a sentence."""


class PostgreSQL:
    """A cluster that is running, reached by a socket in its folder; `database()` makes one more, empty."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.numbers = itertools.count(1)

    def address(self, name: str) -> str:
        return f"postgresql://{NAME}@/{name}?host={self.folder}"

    def run(self, statement: str) -> None:
        """Run one statement outside of any transaction."""
        import psycopg

        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(statement)  # type: ignore[call-overload]

    def database(self) -> str:
        name = f"crew{next(self.numbers)}"
        self.run(f"CREATE DATABASE {name}")
        return self.address(name)


def postgres_program(name: str) -> str:
    """Where a program of PostgreSQL is, Debian's place included. Raises NotHere."""
    found = shutil.which(name) or next(map(str, sorted(DEBIANS.glob(f"*/bin/{name}"), reverse=True)), None)
    if found is None:
        raise NotHere(f"PostgreSQL's {name} is not on this machine (Debian: apt-get install postgresql)")
    return found


def unprivileged() -> dict[str, Any]:
    """How to run a program that refuses the superuser: as somebody else, when we are it."""
    if os.geteuid() != 0:
        return {}
    users = {user.pw_name: user for user in pwd.getpwall()}
    user = users.get("postgres") or users["nobody"]
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": [], "env": {**os.environ, "HOME": "/"}}


@contextmanager
def postgresql(*settings: str) -> Iterator[PostgreSQL]:
    """A new cluster. Raises NotHere where it cannot be had."""
    if importlib.util.find_spec("psycopg") is None:
        raise NotHere("the Python package psycopg is not installed (pip install \"yardtrue[postgresql]\")")
    initdb, server, who = postgres_program("initdb"), postgres_program("postgres"), unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="yardtrue-postgresql-"))
    try:
        if "user" in who:
            os.chown(folder, who["user"], who["group"])
        data = str(folder / "data")
        quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "cwd": "/", **who}
        subprocess.run([initdb, "-D", data, "-U", NAME, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"], check=True, **quiet)
        options = ["listen_addresses=", f"unix_socket_directories={folder}", *settings]
        command = [server, "-D", data, *(part for option in options for part in ("-c", option))]
        process = subprocess.Popen(command, stderr=subprocess.DEVNULL, **quiet)
        cluster = PostgreSQL(folder)
        try:
            await_answer(lambda: cluster.run("SELECT 1"), process)
            yield cluster
        finally:
            stop(process, signal.SIGINT)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def redis() -> Iterator[str]:
    """The address of a new Redis that keeps nothing. Raises NotHere where it cannot be had."""
    program = shutil.which("redis-server")
    if program is None:
        raise NotHere("redis-server is not on this machine (Debian: apt-get install redis-server)")
    if importlib.util.find_spec("redis") is None:
        raise NotHere("the Python package redis is not installed (pip install \"yardtrue[redis]\")")
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="yardtrue-redis-") as folder:
        command = [program, "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no", "--dir", folder]
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            await_answer(lambda: socket.create_connection(("127.0.0.1", port), timeout=1).close(), process)
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            stop(process, signal.SIGTERM)


def await_answer(ask: Any, process: subprocess.Popen[bytes]) -> None:
    """Until asking goes well. Raises RuntimeError when the process has ended or stays silent."""
    end = time.monotonic() + PATIENCE
    while True:
        try:
            return ask()
        except Exception as error:
            if process.poll() is not None or time.monotonic() > end:
                raise RuntimeError(f"{process.args} does not answer") from error
            time.sleep(0.05)


def stop(process: subprocess.Popen[bytes], how: signal.Signals) -> None:
    process.send_signal(how)
    try:
        process.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
