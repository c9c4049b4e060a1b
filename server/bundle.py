"""The offline document of a job: everything a phone needs, one per revision, named by its digest."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping

from server.model import WAYS, Bundle, Job, Message, Plain

SCHEMA = 1


def bundle(
    job_id: str,
    job: Job,
    outline: list[list[float]],
    yard: Plain,
    steps: list[Plain],
    readings: list[Plain],
    svg: str,
    frame: Plain,
    findings: Iterable[Message],
    field: Plain,
    words: Mapping[str, str],
    carries: Plain,
) -> Bundle:
    """One document: the digest is SHA-256 over its canonical JSON without the digest, first 16 hex digits."""
    document: Plain = {
        "schema": SCHEMA,
        "job": _job(job_id, job) | {"outline": outline},
        "yard": yard,
        "steps": steps,
        "readings": readings,
        "drawing": svg,
        "frame": frame,
        "findings": [finding.plain() for finding in findings],
        "field": field,
        "words": dict(words),
        "carries": carries,
    }
    digest = hashlib.sha256(canonical(document).encode()).hexdigest()[:16]
    document["digest"] = digest
    return Bundle(document, digest, canonical(document))


def canonical(document: Plain) -> str:
    """JSON with sorted keys and no spaces: the same document is always the same bytes."""
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _job(job_id: str, job: Job) -> Plain:
    return {
        "id": job_id,
        "name": job.name,
        "units": job.units,
        "width": job.width,
        "out": job.out,
        "attached": job.attached,
        "crew": job.crew,
        "tape": job.tape,
        "way": job.way,
        "ways": list(WAYS),
    }
