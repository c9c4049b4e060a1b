"""Imported once, before servers are forked: this is what a start costs, and no part of what is tested."""
from server.phone import field_digest
from server.web.bundles import builder_digest
from tests.browser.phone_server import serve

__all__ = ["serve"]

field_digest()
builder_digest()
