"""Bundles behind a cache keyed by content: built again only when the job, the words, the field math or code changed."""
from __future__ import annotations

import hashlib
import json
from functools import cache as once
from pathlib import Path

from flask import abort, current_app, redirect, url_for
from flask_caching import Cache

from server import plan
from server.choosing import Choice
from server.errors import FrameOpen, JobFaults, NotFound
from server.job import read
from server.model import Bundle, Plain
from server.phone import field_digest
from server.shell_tree import digest_of as tree_digest
from server.store import Saved, Store
from server.words import words

cache = Cache()


def store() -> Store:
    """The store of the app at work."""
    found: Store = current_app.extensions["store"]
    return found


@once
def builder_digest() -> str:
    """What a bundle is made of besides its job: the code of the stages and the words, as this process started."""
    here = Path(plan.__file__).parent
    paths = [path for path in here.rglob("*") if path.suffix in (".py", ".csv") and path.parent.name != "web"]
    sources = {path.relative_to(here).as_posix(): path.read_bytes() for path in paths}
    return tree_digest(sources | {"words": json.dumps(words(), sort_keys=True).encode()})


def content_key(job_id: str, spec: Plain) -> str:
    content = json.dumps([job_id, spec, field_digest(), builder_digest()], sort_keys=True)
    return "bundle " + hashlib.sha256(content.encode()).hexdigest()


def bundle_of(job_id: str, spec: Plain) -> Bundle:
    """The bundle of a job's spec, from the cache when nothing changed. Raises JobFaults."""
    key = content_key(job_id, spec)
    found: Bundle | None = cache.get(key)
    if found is None:
        found = plan.plan(job_id, spec)
        cache.set(key, found)
    return found


def planned(job_id: str) -> tuple[Saved, Bundle]:
    """A saved job and its bundle; one with faults leads to its form, one left open to its frames."""
    saved = store().job(job_id)
    try:
        return saved, bundle_of(saved.id, saved.spec)
    except JobFaults:
        abort(redirect(url_for("desk.edit", job_id=job_id)))
    except FrameOpen:
        abort(redirect(url_for("frames.table", job_id=job_id)))


def choice_of(job_id: str, spec: Plain) -> Choice:
    """The frames that fit a job whose frame is open, from the cache when nothing changed. Raises JobFaults."""
    key = "choice " + content_key(job_id, spec)
    found: Choice | None = cache.get(key)
    if found is None:
        found = plan.choose(read(spec))
        cache.set(key, found)
    return found


def digest_of(job_id: str, spec: Plain) -> str:
    """The digest of the document a spec gives, as the store wants it; "" while its frame is open. Raises JobFaults."""
    try:
        return bundle_of(job_id, spec).digest
    except FrameOpen:
        return ""


def newest(job_id: str) -> tuple[Saved, Bundle]:
    """A job as saved and its bundle. Raises NotFound."""
    saved = store().job(job_id)
    return saved, bundle_of(saved.id, saved.spec)


def document(job_id: str, digest: str) -> bytes:
    """The bytes of a document by its digest, of the newest revision or an older one. Raises NotFound."""
    key = document_key(job_id, digest)
    found: bytes | None = cache.get(key)
    if found is None:
        found = find_document(job_id, digest)
        cache.set(key, found)
    return found


def document_key(job_id: str, digest: str) -> str:
    return f"document {job_id}/{digest}"


def find_document(job_id: str, digest: str) -> bytes:
    for number, saved in enumerate(store().revisions(job_id)):
        if saved.digest and (number == 0 or saved.digest == digest):
            bundle = bundle_of(saved.id, saved.spec)
            if bundle.digest == digest:
                return bundle.text.encode()
    raise NotFound("no-such-document")


def forget(job_id: str) -> None:
    """Take a deleted job's documents out of the cache."""
    for saved in store().revisions(job_id):
        key = content_key(saved.id, saved.spec)
        built: Bundle | None = cache.get(key)
        for digest in {saved.digest, built.digest if built else ""}:
            cache.delete(document_key(job_id, digest))
        cache.delete(key)
