"""What is kept in a database: jobs with their revisions, field book entries, crew links, the desk's key.

The only part that opens a database: SQLite unless told otherwise.
"""
from server.store.backup import write_backup
from server.store.entries import Entries, Taken
from server.store.jobs import Jobs, Saved, new_id, spec_text
from server.store.keys import Keys
from server.store.links import Link, Links
from server.store.opening import SCHEMA_VERSION, open_engine
from server.store.restoring import Restored, restore

__all__ = [
    "SCHEMA_VERSION", "Link", "Restored", "Saved", "Store", "Taken", "new_id", "open_store", "restore", "spec_text",
    "write_backup",
]


class Store(Jobs, Entries, Links, Keys):
    """Everything that one database holds."""


def open_store(url: str | None = None) -> Store:
    """The store behind a database address. Raises YardtrueError: torn, of a newer schema, or not reachable."""
    return Store(open_engine(url))
