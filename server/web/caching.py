"""The cache: one in each process, or one that several share. It holds nothing that cannot be made again."""
from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from flask import Flask
from flask_caching import Cache

from server import settings
from server.errors import YardtrueError

MONTH = 30 * 24 * 3600
PATIENCE = 2  # seconds that a cache has to answer in
PROBE = "probe"


class SpareCache(Cache):
    """A cache that may fail while it is used: then things are made anew, and nobody is turned away."""

    def get(self, *given: Any, **named: Any) -> Any:
        return spared(super().get, *given, **named)

    def set(self, *given: Any, **named: Any) -> Any:
        return spared(super().set, *given, **named)

    def delete(self, *given: Any, **named: Any) -> Any:
        return spared(super().delete, *given, **named)


def spared(work: Callable[..., Any], *given: Any, **named: Any) -> Any:
    """What the work gives; None, and a line in the log, when it fails."""
    try:
        return work(*given, **named)
    except Exception as error:  # each kind of cache has errors of its own
        logging.getLogger(__name__).warning("the cache failed: %s", error)
        return None


def shared_cache() -> dict[str, Any]:
    """The cache of several processes, when the environment names one; what nobody asks for in a month goes."""
    address = settings.cache_url()
    if not address:
        return {}
    return {
        "CACHE_TYPE": "RedisCache", "CACHE_REDIS_URL": impatient(address), "CACHE_KEY_PREFIX": "yardtrue ",
        "CACHE_DEFAULT_TIMEOUT": MONTH,
    }


def impatient(address: str) -> str:
    """A Redis address that says how long is waited, where it does not say so itself."""
    parts = urlsplit(address)
    asked = {"socket_timeout": str(PATIENCE), "socket_connect_timeout": str(PATIENCE), **dict(parse_qsl(parts.query))}
    return urlunsplit(parts._replace(query=urlencode(asked)))


def init(app: Flask, cache: Cache) -> None:
    """Open the cache; a shared one has to be there when a process starts. Raises YardtrueError."""
    try:
        cache.init_app(app)
        if app.config["CACHE_TYPE"] == "RedisCache":
            app.extensions["cache"][cache].set(PROBE, 1, timeout=1)
    except RuntimeError as error:
        raise YardtrueError("cache-driver") from error
    except Exception as error:  # each kind of cache has errors of its own
        raise YardtrueError("cache-unreachable", slots={"why": str(error).splitlines()[0][:160]}) from error
