"""The desk's key, of which only the hash is kept, and the secret that signs sessions."""
from __future__ import annotations

import json
import secrets
from hmac import compare_digest

from sqlalchemy import select
from sqlalchemy.orm import Session

from server.errors import YardtrueError
from server.store.database import Database, fact, hash_of, hold_all
from server.store.rows import Meta

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # 32 that nobody takes for another: 5 bits each
GROUPS, GROUP = 4, 7  # 140 bits
SHORTEST = 16
DESK_KEY, SECRET = "desk-key", "secret"
KEPT = select(Meta.value).where(Meta.key == DESK_KEY)  # asked at every request of the desk


class Keys(Database):
    """The part of the store that knows the desk."""

    def new_desk_key(self) -> str:
        """A new key, given this once; the old one and every session begun with it count no longer."""
        key = made_key()
        with self._session() as session:
            hold_all(session)
            _keep_key(session, key)
        return key

    def first_desk_key(self) -> str:
        """A new key where there was none, "" where there is one; of two processes only one makes it."""
        key = made_key()
        with self._session() as session:
            hold_all(session)
            if fact(session, DESK_KEY):
                return ""
            _keep_key(session, key)
        return key

    def fix_desk_key(self, key: str) -> None:
        """Make a given key the desk's; sessions go on when it was so already. Raises YardtrueError for a short one."""
        if len(plain_key(key)) < SHORTEST:
            raise YardtrueError("desk-key-short", slots={"least": str(SHORTEST)})
        if self.is_desk_key(key):
            return
        with self._session() as session:
            hold_all(session)
            if not _is_key(fact(session, DESK_KEY), key):  # another process may have been as quick
                _keep_key(session, key)

    def has_desk_key(self) -> bool:
        return bool(self._key())

    def is_desk_key(self, text: str) -> bool:
        """Whether this is the key, however its letters and dashes were typed."""
        with self._session() as session:
            return _is_key(fact(session, DESK_KEY), text)

    def desk_generation(self) -> str:
        """What a desk session has to hold: another with each new key, "" without one."""
        return str(self._key().get("generation", ""))

    def secret(self) -> bytes:
        """What sessions are signed with, made once for every process on this database."""
        with self._session() as session:
            found = fact(session, SECRET)
            if not found:
                hold_all(session)
                found = fact(session, SECRET) or secrets.token_hex(32)
                session.merge(Meta(key=SECRET, value=found))
        return bytes.fromhex(found)

    def _key(self) -> dict[str, str]:
        with self._reading() as connection:
            said = connection.scalar(KEPT)
        found: dict[str, str] = json.loads(said or "{}")
        return found


def made_key() -> str:
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS))


def plain_key(text: str) -> str:
    """A key without the case, blanks and dashes it may be typed with."""
    return "".join(letter for letter in text.upper() if letter.isalnum())


def _is_key(kept: str | None, text: str) -> bool:
    held: dict[str, str] = json.loads(kept or "{}")
    return compare_digest(held.get("hash", ""), hash_of(plain_key(text)))


def _keep_key(session: Session, key: str) -> None:
    kept = {"hash": hash_of(plain_key(key)), "generation": secrets.token_hex(8)}
    session.merge(Meta(key=DESK_KEY, value=json.dumps(kept)))
