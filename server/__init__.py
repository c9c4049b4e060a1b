"""Yardtrue: from a deck on paper to strings and marks in a yard that are true."""
from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Flask


def create_app(database_url: str | None = None, config: Mapping[str, Any] | None = None) -> Flask:
    """The web server over one database; `config` overrides what `server.web.app.DEFAULTS` names."""
    # Here, not above: a walk in a terminal imports `server.field` and must not load the web.
    from server.web import build_app

    return build_app(database_url, config or {})
