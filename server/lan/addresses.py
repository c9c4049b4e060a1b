"""Where this machine can be reached from the network: its own private addresses and its names."""

from __future__ import annotations

import re
import socket
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

import psutil

from server.errors import YardtrueError

Address = IPv4Address | IPv6Address
Found = Callable[[], Sequence[str]]
PRIVATE = tuple(map(ip_network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7")))
LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
ANY = ("0.0.0.0", "::")


@dataclass(frozen=True)
class Reach:
    """Addresses and names a phone may use; the first address is the one it is given."""

    addresses: tuple[str, ...]
    names: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        return self.addresses + self.names

    @property
    def first(self) -> str:
        return self.all[0]


def own_reach(host: str | None, names: Iterable[str], found: Found | None = None) -> Reach:
    """What this machine is reached by: the host it was told to listen at, or every private address it has.

    `names` are the ones asked for; its own are added. Raises YardtrueError.
    """
    asked = [read_name(name) for name in names]
    listening = [read_address(host)] if host and host not in ANY else list((found or own_addresses)())
    addresses = listening + [name for name in asked if is_address(name)]
    reach = Reach(once(addresses), once([*(name for name in asked if not is_address(name)), *own_names()]))
    if not reach.addresses and not asked:
        raise YardtrueError("lan-no-address")
    return reach


def own_addresses() -> list[str]:
    """This machine's private IPv4 addresses, the one that leads out of the house first.

    IPv6 is left out: temporary addresses change every day, and each would ask for a new authority.
    """
    rows = [row.address for rows in psutil.net_if_addrs().values() for row in rows if row.family == socket.AF_INET]
    outward = outward_address()
    return sorted((address for address in rows if is_private(address)), key=lambda one: (one != outward, one))


def outward_address() -> str:
    """The address this machine would send from; choosing it sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documents: nobody has it
        except OSError:
            return ""
        return str(probe.getsockname()[0])


def own_names(hostname: str | None = None) -> list[str]:
    """NAME.local, and NAME itself unless others' names could end in it."""
    name = (hostname or socket.gethostname()).split(".")[0].lower()
    if not LABEL.fullmatch(name) or name == "localhost":
        return []
    return [f"{name}.local", *([] if is_ending(name) else [name])]


def read_name(given: str) -> str:
    """A name or address asked for with --name, in one form. Raises YardtrueError."""
    name = given.strip().lower().rstrip(".")
    if is_address(name):
        return read_address(name)
    labels = name.split(".")
    if not all(LABEL.fullmatch(label) for label in labels) or len(name) > 253:
        raise YardtrueError("lan-name", slots={"given": given})
    if len(labels) == 1 and is_ending(name):
        raise YardtrueError("lan-name-ending", slots={"given": given})
    return name


def read_address(given: str) -> str:
    """An address of a private range or of this machine alone. Raises YardtrueError."""
    if not is_address(given):
        raise YardtrueError("lan-host", slots={"given": given})
    address = ip_address(given)
    if not is_private(given) and not address.is_loopback:
        raise YardtrueError("lan-public", slots={"given": given})
    return str(address)


def is_ending(name: str) -> bool:
    """A bare name of letters alone could be the ending of others' names, as in .org: not to be vouched for."""
    return name.isalpha() or name.startswith("xn--")


def is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


def is_private(text: str) -> bool:
    address = ip_address(text)
    return any(address.version == block.version and address in block for block in PRIVATE)


def once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def in_url(host: str) -> str:
    """A host as an address line writes it: IPv6 in brackets."""
    return f"[{host}]" if ":" in host else host
