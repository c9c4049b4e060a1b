"""What the trust page and the desk say of the authority, as plain data."""

from __future__ import annotations

from server.lan.addresses import in_url
from server.lan.keeper import Keeper
from server.model import Plain

SEEN = "/trust/seen.svg"  # what a phone that trusts the authority can load from the desk
SHOWN = 8  # pairs of a fingerprint in one row


def trust(keeper: Keeper, asked_host: str = "") -> Plain:
    """Everything the trust page says; `asked_host` is the host the phone came by."""
    authority, standing = keeper.authority, keeper.standing
    host = asked_host if asked_host in standing.reach.all else standing.reach.first
    origin = f"https://{in_url(host)}:{keeper.wish.port}"
    return {
        "origin": origin, "seen": origin + SEEN, "phone": origin + "/phone/",
        "ports": {"trust": str(keeper.wish.trust_port), "port": str(keeper.wish.port)},
        "page": keeper.trust_origin + "/", "fingerprint": rows(authority.fingerprint),
        "authority": authority.name,
        "addresses": list(authority.vouches.addresses), "names": list(authority.vouches.names),
        "serves": list(standing.reach.all), "beyond": list(standing.beyond),
        "begins": standing.leaf.begins.isoformat(), "ends": standing.leaf.ends.isoformat(),
        "authority_ends": authority.root.not_valid_after_utc.isoformat(),
        "verdict": keeper.verdict, "strange": asked_host if asked_host and host != asked_host else "",
    }


def rows(fingerprint: str) -> list[str]:
    """A fingerprint in rows that can be compared by eye."""
    pairs = fingerprint.split(":")
    return [" ".join(pairs[start : start + SHOWN]) for start in range(0, len(pairs), SHOWN)]
