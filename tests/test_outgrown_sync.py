"""Field books in step on PostgreSQL and Redis: every test of the sync once more."""
import pytest

from server import create_app
from server.web import bundles
from tests import test_sync
from tests.entered import KEY
from tests.test_sync import phone  # noqa: F401 (a fixture)

globals().update({name: test for name, test in vars(test_sync).items() if name.startswith("test_")})


def outgrown(postgresql, redis_address):
    app = create_app(postgresql.database(), {"DESK_KEY": KEY})
    assert app.config["CACHE_REDIS_URL"].startswith(redis_address)
    with app.app_context():
        bundles.store().seed_demo(bundles.digest_of)
    return app


@pytest.fixture
def shared(monkeypatch, redis_address):
    monkeypatch.setenv("YARDTRUE_CACHE_URL", redis_address)
    return redis_address


@pytest.fixture
def app_anew(postgresql, shared):
    return outgrown(postgresql, shared)


@pytest.fixture
def app(app_anew):
    return app_anew
