"""Job files by path, or demo jobs by name, as every command takes them."""

from __future__ import annotations

import re
from pathlib import Path

from server.errors import YardtrueError
from server.places import SEED


def job_path(path: str) -> Path:
    """The file of a job, or of the demo job of that name. Raises YardtrueError."""
    for file in (Path(path), SEED / f"{path}.json", SEED / "jobs" / f"{path}.json"):
        if file.is_file():
            return file
    raise YardtrueError("no-job-file", slots={"path": path})


def job_text(path: str) -> str:
    """What a job's file says. Raises YardtrueError."""
    try:
        return job_path(path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise YardtrueError("job-not-text", slots={"path": path}) from None


def job_id(name: str) -> str:
    """A file's name as a job id that is safe in paths and addresses."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "job"
