"""A backup put back: looked over whole before anything is written, then all of it in one transaction, or nothing."""
from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Integer, Table, delete, func, insert, select
from sqlalchemy.exc import DataError, IntegrityError
from sqlalchemy.orm import Session

from server.errors import YardtrueError
from server.model import Plain
from server.store.backup import FORMAT, KIND, LEFT_OUT, MANIFEST, TABLES, file_of
from server.store.database import Database, hold_all
from server.store.opening import SCHEMA_VERSION
from server.store.rows import JobRow, Meta

AT_ONCE = 500
MOST = 2**31 - 1  # the largest whole number of every database
LONGEST = 64 * 1024 * 1024  # bytes of one line, and of a manifest


@dataclass(frozen=True)
class Restored:
    """What was put back: when the backup was made, and rows by table."""

    made: str
    rows: dict[str, int]


class Damaged(Exception):
    """A backup that is not what its manifest says."""


# What a ZIP that is torn, locked or packed by hand may come to, and rows that do not hold together.
DAMAGE = (
    Damaged, zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, IntegrityError, DataError,
)


def restore(database: Database, path: Path, replace: bool = False) -> Restored:
    """Put a backup into an empty database; with `replace`, in the place of what is there. Raises YardtrueError."""
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = manifest_of(archive, path)
            check(archive, manifest)
            put(database, archive, replace)
    except OSError as error:
        raise YardtrueError("restore-file", slots={"path": str(path), "why": error.strerror or str(error)}) from error
    except DAMAGE as error:
        raise YardtrueError("restore-torn" if is_zip(path) else "restore-foreign", slots={"path": str(path)}) from error
    return Restored(str(manifest["made"]), {name: one["rows"] for name, one in manifest["tables"].items()})


def is_zip(path: Path) -> bool:
    """Whether a file begins as a ZIP does, however it ends."""
    with path.open("rb") as file:
        return file.read(4) == b"PK\x03\x04"


def manifest_of(archive: zipfile.ZipFile, path: Path) -> Plain:
    """The manifest of a backup that this version can put back. Raises YardtrueError, Damaged."""
    names = archive.namelist()
    if MANIFEST not in names:
        raise YardtrueError("restore-foreign", slots={"path": str(path)})
    try:
        with archive.open(MANIFEST) as file:
            manifest = json.loads(file.read(LONGEST))
    except (ValueError, RecursionError) as error:
        raise Damaged from error
    if not isinstance(manifest, dict) or manifest.get("kind") != KIND:
        raise YardtrueError("restore-foreign", slots={"path": str(path)})
    if manifest.get("format") != FORMAT or manifest.get("schema") != SCHEMA_VERSION:
        slots = {"found": str(manifest.get("schema"))[:20], "known": SCHEMA_VERSION}
        raise YardtrueError("restore-schema", slots=slots)
    whole = sorted(names) == sorted([MANIFEST, *map(file_of, TABLES)])
    if not whole or not isinstance(manifest.get("made"), str):
        raise Damaged
    return manifest


def check(archive: zipfile.ZipFile, manifest: Plain) -> None:
    """Every table as the manifest says, every row as its table asks. Raises Damaged."""
    told = manifest.get("tables")
    for table in TABLES:
        one = told.get(table.name) if isinstance(told, dict) else None
        if not isinstance(one, dict):
            raise Damaged
        digest, count = sha256(), 0
        for line in lines_of(archive, table):
            digest.update(line)
            check_row(table, row_of(line))
            count += 1
        if one.get("rows") != count or one.get("sha256") != digest.hexdigest():
            raise Damaged


def lines_of(archive: zipfile.ZipFile, table: Table) -> Iterator[bytes]:
    """The lines of one table. Raises Damaged for one too long to be one."""
    with archive.open(file_of(table)) as file:
        while line := file.readline(LONGEST):
            if not line.endswith(b"\n"):
                raise Damaged
            yield line


def row_of(line: bytes) -> Any:
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as error:
        raise Damaged from error


def check_row(table: Table, row: Any) -> None:
    """Every column and no other, each with a value of its kind. Raises Damaged."""
    if not isinstance(row, dict) or set(row) != set(table.columns.keys()):
        raise Damaged
    for column in table.columns:
        value = row[column.key]
        if not (value is None and column.nullable) and not fits(value, isinstance(column.type, Integer)):
            raise Damaged
    if table.name == "meta" and row["key"] in LEFT_OUT:
        raise Damaged


def fits(value: Any, whole: bool) -> bool:
    """Whether a value is a whole number, or text, that every database holds."""
    if whole:
        return type(value) is int and abs(value) <= MOST
    return isinstance(value, str) and "\0" not in value and not any("\ud800" <= letter <= "\udfff" for letter in value)


def put(database: Database, archive: zipfile.ZipFile, replace: bool) -> None:
    """Everything into the database in one transaction. Raises YardtrueError where jobs are in the way."""
    with database._session() as session:
        hold_all(session)
        count = session.scalar(select(func.count()).select_from(JobRow)) or 0
        if count and not replace:
            raise YardtrueError("restore-not-empty", slots={"count": str(count)})
        empty(session)
        for table in TABLES:
            rows = (row_of(line) for line in lines_of(archive, table))
            while some := list(islice(rows, AT_ONCE)):
                session.execute(insert(table), some)


def empty(session: Session) -> None:
    """Take out all but the schema's number: with the secret go the sessions that were begun here."""
    for table in reversed(TABLES):
        gone = delete(table)
        session.execute(gone.where(Meta.key != "schema") if table.name == "meta" else gone)
