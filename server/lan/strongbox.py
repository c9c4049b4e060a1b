"""Files that hold keys: written whole or not at all, their owner's alone, refused when others can read them."""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from server.errors import YardtrueError

FOLDER, FILE, OTHERS = 0o700, 0o600, 0o077


def make_folder(path: Path) -> None:
    """The folder, its owner's alone. Raises YardtrueError when it is not, or cannot be made."""
    try:
        path.mkdir(mode=FOLDER, parents=True, exist_ok=True)
    except OSError as error:
        raise YardtrueError("lan-folder", slots={"path": str(path), "why": error.strerror or str(error)}) from error
    check_owner(path, FOLDER)


def check_owner(path: Path, mode: int) -> None:
    """Only its owner may look in. Raises YardtrueError."""
    if os.name != "posix":
        return
    found = path.stat()
    if found.st_uid != os.geteuid():
        raise YardtrueError("lan-key-owner", slots={"path": str(path)})
    if stat.S_IMODE(found.st_mode) & OTHERS:
        slots = {"path": str(path), "found": f"{stat.S_IMODE(found.st_mode):o}", "mode": f"{mode:o}"}
        raise YardtrueError("lan-key-open", slots=slots)


def read(path: Path) -> bytes | None:
    """A key file's bytes; None when there is none. Raises YardtrueError when others can read it."""
    try:
        check_owner(path, FILE)
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise YardtrueError("lan-folder", slots={"path": str(path), "why": error.strerror or str(error)}) from error


def add(path: Path, content: bytes) -> bool:
    """Write a file that is not there yet; False when another process was first."""
    with beside(path, content) as written:
        try:
            os.link(written, path)
        except FileExistsError:
            return False
    return True


def replace(path: Path, content: bytes) -> None:
    """Write a file in the place of the old one, at once."""
    with beside(path, content) as written:
        os.replace(written, path)


@contextmanager
def beside(path: Path, content: bytes) -> Iterator[Path]:
    """The content on the disk under a name of its own, gone again at the end if it is still there."""
    written = path.with_name(f".{path.name}.{secrets.token_hex(6)}")
    try:
        with os.fdopen(os.open(written, os.O_WRONLY | os.O_CREAT | os.O_EXCL, FILE), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        yield written
    except OSError as error:
        raise YardtrueError("lan-folder", slots={"path": str(path), "why": error.strerror or str(error)}) from error
    finally:
        written.unlink(missing_ok=True)
