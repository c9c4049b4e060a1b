"""Documents of a job over its revisions and over versions of Yardtrue: each knows those that were walked before it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from server import plan
from server.model import Bundle
from server.web import bundles
from tests.demo import spec
from tests.entered import desk_app


@pytest.fixture
def job(tmp_path) -> Iterator[str]:
    with desk_app(tmp_path).app_context():
        yield bundles.store().add_job(spec(), bundles.digest_of)


def newest(job: str) -> Bundle:
    return bundles.newest(job)[1]


def version(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on another version of Yardtrue is at work: it says one thing more."""
    words = plan.spoken() | {"walk.new-word": f"version {number}"}
    monkeypatch.setattr(plan, "spoken", lambda: words)
    monkeypatch.setattr(bundles, "builder_digest", lambda: f"version {number}")


def test_a_revision_knows_the_ones_before_it_under_the_digests_they_were_saved_with(job) -> None:
    first = newest(job)
    assert first.document["carries"] == {}
    assert bundles.store().job(job).digest == first.digest
    bundles.store().save_revision(job, spec(out="14'"), bundles.digest_of)
    second = newest(job)
    assert list(second.document["carries"]) == [first.digest]
    bundles.store().save_revision(job, spec(out="15'"), bundles.digest_of)
    assert set(newest(job).document["carries"]) == {first.digest, second.digest}
    assert bundles.document(job, second.digest) == second.text.encode()
    assert bundles.document(job, first.digest) == first.text.encode()


def test_the_document_of_each_version_of_yardtrue_is_known_to_the_later_ones(job, monkeypatch) -> None:
    """What a crew entered under one version counts on under the next, and under the one after that."""
    made = [newest(job)]
    for number in (2, 3, 4):
        version(number, monkeypatch)
        made.append(newest(job))
        assert newest(job).digest == made[-1].digest, "asked again, it is the same"
    assert len({bundle.digest for bundle in made}) == 4
    for number, bundle in enumerate(made):
        assert set(bundle.document["carries"]) == {one.digest for one in made[:number]}
    bundles.store().save_revision(job, spec(out="14'"), bundles.digest_of)
    assert bundles.store().job(job).digest == newest(job).digest
    assert set(newest(job).document["carries"]) == {one.digest for one in made}


def test_a_deleted_job_leaves_nothing_of_its_documents(job, monkeypatch) -> None:
    version(2, monkeypatch)
    assert newest(job).digest
    assert len(bundles.store().editions(job)) == 1
    bundles.forget(job)
    bundles.store().delete(job)
    assert bundles.store().editions(job) == []
