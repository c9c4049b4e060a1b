"""Everything a database holds in one file: a ZIP with a manifest, and JSON lines for each table.

The secret that signs sessions stays out: whoever holds a backup can enter nothing with it.
"""
from __future__ import annotations

import json
import os
import secrets
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Row, Table, select
from sqlalchemy.engine import Connection

from server.errors import YardtrueError
from server.model import Plain
from server.store.database import Database
from server.store.keys import SECRET
from server.store.opening import SCHEMA_VERSION
from server.store.rows import Base

KIND, FORMAT, MANIFEST = "yardtrue backup", 1, "manifest.json"
TABLES: tuple[Table, ...] = tuple(Base.metadata.sorted_tables)
LEFT_OUT = ("schema", SECRET)  # facts of a database, not of what it holds
ZIP_DATE = (2020, 1, 1, 0, 0, 0)  # the same content is the same bytes, whenever it is packed


def write_backup(database: Database, path: Path, force: bool = False) -> dict[str, int]:
    """Write everything to a file, whole or not at all; rows by table. Raises YardtrueError.

    A transaction that others make meanwhile is in it as a whole, or not at all.
    """
    if path.exists() and not force:
        raise YardtrueError("backup-there", slots={"path": str(path)})
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with snapshot(database) as connection, private(part) as file:
            rows = pack(connection, file)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise YardtrueError("backup-file", slots={"path": str(path), "why": error.strerror or str(error)}) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    return rows


@contextmanager
def private(path: Path) -> Iterator[IO[bytes]]:
    """A new file that only its owner reads."""
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b") as file:
        yield file


@contextmanager
def snapshot(database: Database) -> Iterator[Connection]:
    """A connection that sees the database as it is at one moment, while others go on writing. Raises StoreBusy."""
    with database._reading() as connection:
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql("BEGIN")  # its driver begins none for reading alone
        else:
            connection.execution_options(isolation_level="REPEATABLE READ")
        yield connection
        connection.rollback()


def pack(connection: Connection, file: IO[bytes]) -> dict[str, int]:
    """Every table into the ZIP, then the manifest that vouches for them; rows by table."""
    told: dict[str, Plain] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for table in TABLES:
            told[table.name] = pack_table(connection, archive, table)
        manifest = {
            "kind": KIND, "format": FORMAT, "schema": SCHEMA_VERSION, "tables": told,
            "made": datetime.now(UTC).isoformat(timespec="seconds"),
        }
        archive.writestr(entry(MANIFEST), json.dumps(manifest, indent=1))
    return {name: one["rows"] for name, one in told.items()}


def pack_table(connection: Connection, archive: zipfile.ZipFile, table: Table) -> Plain:
    """One table as JSON lines in the order of its key: how many rows, and the SHA-256 of the lines."""
    digest, rows = sha256(), 0
    query = select(table).order_by(*table.primary_key.columns)
    with archive.open(entry(file_of(table)), "w", force_zip64=True) as out:
        for row in connection.execution_options(stream_results=True).execute(query):
            if table.name == "meta" and row.key in LEFT_OUT:
                continue
            line = line_of(row)
            digest.update(line)
            out.write(line)
            rows += 1
    return {"rows": rows, "sha256": digest.hexdigest()}


def line_of(row: Row[Any]) -> bytes:
    return json.dumps(dict(row._mapping), sort_keys=True, separators=(",", ":")).encode() + b"\n"


def file_of(table: Table) -> str:
    return f"{table.name}.jsonl"


def entry(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, ZIP_DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    return info
