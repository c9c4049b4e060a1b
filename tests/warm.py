"""Imported once, by the process that servers are forked from."""
from server.phone import field_digest
from server.web.bundles import builder_digest
from tests.browser.phone_server import serve
from tests.chaos.mortal import live

__all__ = ["live", "serve"]

field_digest()
builder_digest()
