"""The phone's files as a tree {path: bytes}: the same at the server's /phone/ and in a `yardtrue bundle` folder.

Everything named by a digest never changes; the rest is the shell, whose bytes give the worker its version.
"""
from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from pathlib import Path

from server.model import Bundle, Plain
from server.phone import FILE, compile_field, field_digest
from server.places import PWA
from server.words import section

WORKER = "sw.js"
WORDS = "words.json"
INDEX = "jobs/index.json"
SPOKEN = ("phone.",)  # a document carries its own: those of its walk
TYPES = {
    ".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
    ".json": "application/json", ".webmanifest": "application/manifest+json", ".svg": "image/svg+xml",
    ".png": "image/png",
}


def shell_files(pwa: Path = PWA) -> dict[str, bytes]:
    """The shell: what is in pwa/ but the worker's body, and the sentences of its screens."""
    paths = [path for path in sorted(pwa.rglob("*")) if served(path, pwa)]
    files = {path.relative_to(pwa).as_posix(): path.read_bytes() for path in paths}
    return files | {WORDS: packed(section(*SPOKEN))}


def served(path: Path, pwa: Path) -> bool:
    """A file of a kind the phone can be sent, neither hidden nor the worker's body."""
    parts = path.relative_to(pwa).parts
    visible = not any(part.startswith(".") for part in parts)
    return path.is_file() and visible and path.suffix in TYPES and parts != (WORKER,)


def worker(files: Mapping[str, bytes], pwa: Path = PWA) -> bytes:
    """The worker's script: the version (a digest of every byte it ships, its own body too), the list, the body."""
    body = (pwa / WORKER).read_bytes()
    version = digest_of({**files, WORKER: body})
    head = f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(sorted(files))};\n"
    return head.encode() + body


def digest_of(files: Mapping[str, bytes]) -> str:
    """A digest of names and bytes, the same in whatever order they come."""
    whole = hashlib.sha256()
    for path in sorted(files):
        whole.update(f"{path}\0{len(files[path])}\0".encode())
        whole.update(files[path])
    return whole.hexdigest()[:16]


def document_path(job_id: str, digest: str) -> str:
    return f"jobs/{job_id}/{digest}.json"


def field_files() -> dict[str, bytes]:
    """The field math as one ES module, under its digest."""
    return {f"field/{field_digest()}/{FILE}": compile_field().encode()}


def job_files(bundle: Bundle) -> dict[str, bytes]:
    """Everything a phone needs for one job: its document and the field math it names."""
    path = document_path(bundle.document["job"]["id"], bundle.digest)
    return {path: bundle.text.encode(), **field_files()}


def index_file(bundles: Iterable[Bundle]) -> bytes:
    """jobs/index.json: each job with its newest digest and the files it takes."""
    return packed({"jobs": [index_entry(bundle) for bundle in bundles]})


def index_entry(bundle: Bundle) -> Plain:
    job = bundle.document["job"]
    return {"id": job["id"], "name": job["name"], "digest": bundle.digest, "files": list(job_files(bundle))}


def whole_tree(bundles: Iterable[Bundle]) -> dict[str, bytes]:
    """The folder that a static host can serve: shell, worker, index, and every file of the jobs."""
    bundles = tuple(bundles)
    files = shell_files()
    tree = files | {WORKER: worker(files), INDEX: index_file(bundles)}
    for bundle in bundles:
        tree |= job_files(bundle)
    return tree


def packed(value: object) -> bytes:
    """JSON, small and the same every time."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
