"""What is served now and whether it still holds: addresses looked at again, the certificate made anew in time."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from server.errors import YardtrueError
from server.lan import addresses, strongbox
from server.lan.addresses import Found, Reach, in_url, own_addresses, own_reach
from server.lan.authority import FILE, Authority, beyond, checked, day, open_authority, read_authority
from server.lan.check import NO_ANSWER, OK, check
from server.lan.leaf import Leaf, fit_leaf
from server.model import Plain

EVERY = 60.0  # seconds between two looks
SOON = timedelta(days=60)
Clock = Callable[[], datetime]


def now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Wish:
    """What `yardtrue serve --lan` was asked: where to listen, further names, the two ports."""

    host: str | None = None
    names: tuple[str, ...] = ()
    port: int = 8443
    trust_port: int = 8125

    @property
    def listens(self) -> str:
        return self.host or addresses.ANY[0]


@dataclass(frozen=True)
class Standing:
    """What holds at one moment."""

    leaf: Leaf
    reach: Reach  # what this machine has now, of that which its authority vouches for
    beyond: tuple[str, ...]  # what it has besides


@dataclass
class Keeper:
    """The authority of one folder and what it vouches for now. `look` is safe to call from any thread."""

    folder: Path
    wish: Wish
    clock: Clock = now
    found: Found = own_addresses
    made: bool = field(init=False)
    authority: Authority = field(init=False)
    standing: Standing = field(init=False)
    verdict: str = field(init=False, default=NO_ANSWER)
    _told: Plain = field(init=False, default_factory=dict)
    _lock: threading.Lock = field(init=False, default_factory=threading.Lock)

    def open(self, anew: bool = False) -> Keeper:
        """Open the authority, made when there is none. Raises YardtrueError when it cannot vouch for this machine."""
        wanted = own_reach(self.wish.host, self.wish.names, self.found)
        self.authority, self.made = open_authority(self.folder, wanted, self.clock(), anew)
        self.check_asked(wanted)
        self.standing = stand(self.folder, self.authority, wanted, self.clock())
        self._told = self.concern()
        return self

    def kept_fingerprint(self) -> str:
        """The fingerprint of the authority kept so far; "" where there is none that can be read."""
        path = self.folder / FILE
        try:
            kept = strongbox.read(path)
            return read_authority(path, kept).fingerprint if kept else ""
        except YardtrueError:
            return ""

    def check_asked(self, wanted: Reach) -> None:
        """The names asked for, and one address at least, are within the authority. Raises YardtrueError."""
        slots = {"vouches": ", ".join(self.authority.vouches.all)}
        asked = beyond(self.authority, map(addresses.read_name, self.wish.names))
        if asked:
            raise YardtrueError("lan-beyond-name", slots=slots | {"names": ", ".join(asked)})
        if wanted.addresses and not any(map(self.authority.covers, wanted.addresses)):
            raise YardtrueError("lan-beyond-address", slots=slots | {"addresses": ", ".join(wanted.addresses)})

    @property
    def origin(self) -> str:
        """The address line of the desk on the network: https://192.168.1.20:8443."""
        return f"https://{in_url(self.standing.reach.first)}:{self.wish.port}"

    @property
    def trust_origin(self) -> str:
        return f"http://{in_url(self.standing.reach.first)}:{self.wish.trust_port}"

    def look(self) -> list[Plain]:
        """Look again; what has changed, as sentences {key, slots}. The leaf is made anew when it must be."""
        with self._lock:
            try:
                wanted = own_reach(self.wish.host, self.wish.names, self.found)
                before = self.standing
                self.standing = stand(self.folder, self.authority, wanted, self.clock(), before.leaf)
            except YardtrueError as error:
                shape = error.plain()["error"]
                return self.news({"key": "lan.look", "slots": {"message": shape["message"], "fix": shape["fix"]}})
            said = self.news(self.concern())
            if self.standing.leaf.serial != before.leaf.serial:
                said.append({"key": "lan.renewed", "slots": {"ends": day(self.standing.leaf.ends)}})
            return said

    def concern(self) -> Plain:
        """What is to be said of addresses the authority does not know, or of its end; nothing while all is well."""
        if self.standing.beyond:
            slots = {"beyond": ", ".join(self.standing.beyond), "vouches": ", ".join(self.authority.vouches.all)}
            return {"key": "lan.moved", "slots": slots}
        ends = self.authority.signer.not_valid_after_utc
        return {"key": "lan.ending", "slots": {"ends": day(ends)}} if self.clock() > ends - SOON else {}

    def news(self, message: Plain) -> list[Plain]:
        """A message when it is not the one told last."""
        told, self._told = self._told, message
        return [message] if message and message != told else []

    def examine(self) -> list[Plain]:
        """Knock at the own door as a phone would; what was found, when it is not what was found before."""
        before, self.verdict = self.verdict, self.knock()
        if self.verdict == before:
            return []
        slots = {"origin": self.origin, "ends": day(self.standing.leaf.ends)}
        return [{"key": f"lan.check.{self.verdict}", "slots": slots}]

    def knock(self) -> str:
        """The first verdict that is not well, over every address and name."""
        at = None if self.wish.listens in addresses.ANY else self.wish.listens
        hosts: Sequence[str] = self.standing.reach.all
        verdicts = (check(host, self.wish.port, self.authority.root_pem, at or "127.0.0.1") for host in hosts)
        return next((verdict for verdict in verdicts if verdict != OK), OK)


def stand(
    folder: Path, authority: Authority, wanted: Reach, moment: datetime, held: Leaf | None = None
) -> Standing:
    """The leaf for what is wanted and within the authority; the one held, while it fits.

    Raises YardtrueError when nothing is within, or the authority is over.
    """
    checked(authority, folder / FILE, moment)
    within = Reach(*(tuple(filter(authority.covers, part)) for part in (wanted.addresses, wanted.names)))
    if not within.all:
        slots = {"vouches": ", ".join(authority.vouches.all), "addresses": ", ".join(wanted.all)}
        raise YardtrueError("lan-beyond-address", slots=slots)
    fitting = held if held and held.fits(authority, within, moment) else fit_leaf(folder, authority, within, moment)
    return Standing(fitting, within, beyond(authority, wanted.all))
