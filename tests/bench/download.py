"""All that a phone fetches for one job, as gzip -9 makes it."""
from __future__ import annotations

import gzip
from collections.abc import Mapping

from server import plan
from server.shell_tree import whole_tree
from tests.bench.table import Row
from tests.demo import spec

LIMIT = 150.0
JOB = "long-side-deck"


def tree(job: str = JOB) -> dict[str, bytes]:
    """Shell, worker, index, document and field math of one demo job."""
    return whole_tree([plan.plan(job, spec(job))])


def zipped(files: Mapping[str, bytes]) -> dict[str, float]:
    """Each file's KiB when gzipped."""
    return {path: len(gzip.compress(content, 9)) / 1024 for path, content in files.items()}


def measure() -> Row:
    sizes = zipped(tree())
    parts = {"field": 0.0, "jobs": 0.0, "shell": 0.0}
    for path, size in sizes.items():
        top = path.split("/")[0]
        parts[top if top in parts else "shell"] += size
    note = ", ".join(f"{name} {size:.0f}" for name, size in parts.items())
    return Row("Download for one job, gzipped", sum(sizes.values()), "KiB", LIMIT, f"{len(sizes)} files: {note}")
