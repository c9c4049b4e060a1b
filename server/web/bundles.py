"""Bundles behind a cache keyed by content: built again only when the job, the words, the field math or code changed."""
from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from functools import cache as once
from pathlib import Path

from flask import abort, current_app, redirect, url_for

from server import book, plan
from server.carry import MOST
from server.choosing import Choice
from server.errors import FrameOpen, JobFaults, NotFound
from server.job import read
from server.model import Bundle, Plain
from server.phone import field_digest
from server.shell_tree import digest_of as tree_digest
from server.store import Saved, Store
from server.web.caching import SpareCache
from server.words import words

cache = SpareCache()
Known = tuple[int, str, Plain]  # a document that was made of a job: number of its revision, digest, job file


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


def content_key(job_id: str, spec: Plain, earlier: Sequence[plan.Earlier] = ()) -> str:
    content = json.dumps([job_id, spec, earlier, field_digest(), builder_digest()], sort_keys=True)
    return "bundle " + hashlib.sha256(content.encode()).hexdigest()


def bundle_of(job_id: str, spec: Plain, earlier: Sequence[plan.Earlier] = ()) -> Bundle:
    """The bundle of a job's spec after earlier revisions, from the cache when nothing changed. Raises JobFaults."""
    key = content_key(job_id, spec, earlier)
    found: Bundle | None = cache.get(key)
    if found is None:
        found = plan.plan(job_id, spec, earlier)
        cache.set(key, found)
    return found


def bundle_of_revision(saved: Saved) -> Bundle:
    """The bundle of a saved revision, after those before it. Raises JobFaults, FrameOpen.

    Each document that was ever made of it, by this or another version of Yardtrue, is an earlier revision of the ones
    made later: the newest that this version makes again is the one; else a new one is made, and noted.
    """
    everything = known_revisions(saved.id)
    for digest, earlier in editions(saved.number, everything):
        found = bundle_of(saved.id, saved.spec, earlier)
        if found.digest == digest:
            return found
    found = bundle_of(saved.id, saved.spec, [one[1:] for one in everything if one[0] <= saved.number][:MOST])
    if saved.digest and everything[0][0] == saved.number:
        store().note_edition(saved.id, saved.number, found.digest)
    return found


def editions(number: int, everything: Sequence[Known]) -> Iterator[tuple[str, list[plan.Earlier]]]:
    """The documents that were made of a revision, the newest first, each with those that came before it."""
    for at, (its, digest, _) in enumerate(everything):
        if its == number:
            yield digest, [one[1:] for one in everything[at + 1 :]][:MOST]


def known_revisions(job_id: str) -> list[Known]:
    """Every document that was made of a job, the newest first."""
    later: dict[int, list[str]] = {}
    for number, digest in store().editions(job_id):
        later.setdefault(number, []).insert(0, digest)
    found = []
    for one in store().revisions(job_id):
        digests = [*later.get(one.number, []), one.digest]
        found += [(one.number, digest, one.spec) for digest in digests if digest]
    return found


def revisions(job_id: str) -> list[plan.Earlier]:
    """Every document that was made of a job, as what comes before the next one."""
    return [one[1:] for one in known_revisions(job_id)][:MOST]


def planned(job_id: str) -> tuple[Saved, Bundle]:
    """A saved job and its bundle; one with faults leads to its form, one left open to its frames."""
    saved = store().job(job_id)
    try:
        return saved, bundle_of_revision(saved)
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
        return bundle_of(job_id, spec, revisions(job_id)).digest
    except FrameOpen:
        return ""


def newest(job_id: str) -> tuple[Saved, Bundle]:
    """A job as saved and its bundle. Raises NotFound."""
    saved = store().job(job_id)
    return saved, bundle_of_revision(saved)


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
    return built(job_id, digest).text.encode()


def built(job_id: str, digest: str) -> Bundle:
    """The bundle of any revision by its document's digest. Raises NotFound, JobFaults, FrameOpen."""
    for number, saved in enumerate(store().revisions(job_id)):
        if saved.digest and (number == 0 or saved.digest == digest):
            bundle = bundle_of_revision(saved)
            if bundle.digest == digest:
                return bundle
    raise NotFound("no-such-document")


def outline(job_id: str, document: Plain) -> Plain:
    """What entries made on this document are checked against; kept beside it, a hundredth of its size."""
    found = book.outline(document)
    cache.set(outline_key(job_id, found["digest"]), found)
    return found


def kept_outline(job_id: str, digest: str) -> Plain | None:
    """The outline of a document by its digest, where it was asked for before."""
    found: Plain | None = cache.get(outline_key(job_id, digest))
    return found


def outline_key(job_id: str, digest: str) -> str:
    return f"outline {job_id}/{digest}"


def forget(job_id: str) -> None:
    """Take a deleted job's documents out of the cache."""
    everything = known_revisions(job_id)
    for number, digest, spec in everything:
        cache.delete(document_key(job_id, digest))
        cache.delete(outline_key(job_id, digest))
        for _, earlier in editions(number, everything):
            cache.delete(content_key(job_id, spec, earlier))
