"""What the environment says: read here and nowhere else."""
from __future__ import annotations

import os


def database_url() -> str | None:
    """$YARDTRUE_DATABASE_URL: where jobs and field books are kept, such as postgresql://name@host/yardtrue."""
    return os.environ.get("YARDTRUE_DATABASE_URL") or None


def cache_url() -> str | None:
    """$YARDTRUE_CACHE_URL: redis://…, a cache that several server processes share."""
    return os.environ.get("YARDTRUE_CACHE_URL") or None


def desk_key() -> str | None:
    """$YARDTRUE_DESK_KEY: the desk's key, fixed from outside."""
    return os.environ.get("YARDTRUE_DESK_KEY") or None
