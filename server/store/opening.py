"""A database opened: looked over before anything is written, made when missing, brought up from an older schema."""
from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import create_engine, event, inspect, make_url, text
from sqlalchemy.engine import URL, Connection, Engine
from sqlalchemy.exc import ArgumentError, OperationalError

from server import settings
from server.errors import YardtrueError
from server.places import data_folder
from server.store.rows import Base, Meta

SCHEMA_VERSION = "2"
# What an older schema lacks but whole tables, by the version that has it not.
UPGRADES = {"1": ("ALTER TABLE jobs ADD COLUMN arrived INTEGER NOT NULL DEFAULT 0",)}
MAKING = 712_004_318  # the number of the lock under which processes make or upgrade one database in turn


def open_engine(address: str | None = None) -> Engine:
    """The database at an address, its schema whole. Raises YardtrueError: torn, newer, or not reachable."""
    url = address_of(address or settings.database_url() or default_url())
    file = url.get_backend_name() == "sqlite"
    engine = engine_of(url, file)
    if file:
        check_whole(url)
        event.listen(engine, "connect", _sqlite_manners)
    try:
        with engine.connect() as connection:
            make_ready(connection)
            connection.commit()
    except OperationalError as error:
        raise YardtrueError("store-unreachable", slots={"why": str(error.orig).splitlines()[0][:160]}) from error
    return engine


def engine_of(url: URL, file: bool) -> Engine:
    """Nothing is asked of the database yet. Raises YardtrueError: no such kind, or its driver is not installed."""
    try:
        return create_engine(url, pool_pre_ping=not file)  # a server may have gone away, a file does not
    except ModuleNotFoundError as error:
        raise YardtrueError("store-driver", slots={"package": error.name or url.get_driver_name()}) from error
    except ArgumentError as error:
        raise YardtrueError("store-address") from error


def address_of(address: str) -> URL:
    """A database address as SQLAlchemy reads it. Raises YardtrueError."""
    try:
        url = make_url(address)
    except ArgumentError as error:
        raise YardtrueError("store-address") from error
    if url.drivername in ("postgres", "postgresql"):
        return url.set(drivername="postgresql+psycopg")
    return url


def default_url() -> str:
    """A SQLite file in Yardtrue's own data folder."""
    folder = data_folder()
    folder.mkdir(parents=True, exist_ok=True)
    return f"sqlite:///{folder / 'yardtrue.sqlite3'}"


def check_whole(url: URL) -> None:
    """A SQLite file that is there has to be whole. Only read: nothing in it is mended. Raises YardtrueError."""
    if not url.database or url.database == ":memory:":
        return
    path = Path(url.database)
    log = path.with_name(f"{path.name}-wal")
    if not path.exists() or path.stat().st_size == 0:
        if log.exists() and log.stat().st_size:
            raise YardtrueError("store-torn", slots={"path": str(path)})
        return
    found = sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True)
    try:
        said = found.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.OperationalError as error:
        raise YardtrueError("store-unreachable", slots={"why": str(error)}) from error
    except sqlite3.DatabaseError as error:
        raise YardtrueError("store-torn", slots={"path": str(path)}) from error
    finally:
        found.close()
    if said != ("ok",):
        raise YardtrueError("store-torn", slots={"path": str(path)})


def make_ready(connection: Connection) -> None:
    """Make or upgrade the tables, one process at a time. Raises YardtrueError for a newer schema, before any change."""
    take_turn(connection)
    there = inspect(connection).has_table("meta")
    found = connection.scalar(text("SELECT value FROM meta WHERE key = 'schema'")) if there else None
    if found is None:
        Base.metadata.create_all(connection)
        connection.execute(Meta.__table__.insert(), {"key": "schema", "value": SCHEMA_VERSION})  # type: ignore[attr-defined]
    elif found != SCHEMA_VERSION:
        upgrade(connection, found)


def take_turn(connection: Connection) -> None:
    """Wait until no other process is at the tables."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    elif connection.dialect.name == "postgresql":
        connection.execute(text(f"SELECT pg_advisory_xact_lock({MAKING})"))


def upgrade(connection: Connection, found: str) -> None:
    """Bring an older schema up in place: what lacks in its tables, then the tables it lacks."""
    if found not in UPGRADES:
        raise YardtrueError("store-version", slots={"found": found, "known": SCHEMA_VERSION})
    for statement in UPGRADES[found]:
        connection.execute(text(statement))
    Base.metadata.create_all(connection)
    connection.execute(text("UPDATE meta SET value = :new WHERE key = 'schema'"), {"new": SCHEMA_VERSION})


def _sqlite_manners(connection: Any, _record: Any) -> None:
    """Readers do not wait for a writer, a second writer waits a while, deletes cascade."""
    for pragma in ("busy_timeout=5000", "journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
