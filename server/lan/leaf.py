"""The certificate the desk shows: short-lived, for what can be reached now, made anew before it ends."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization

from server.errors import YardtrueError
from server.lan import strongbox
from server.lan.addresses import Reach, is_address
from server.lan.authority import EARLY, Authority, begun, name_of, new_key, pem, uses
from server.words import sentence

FILE = "leaf.pem"
LASTS = timedelta(days=90)  # phones take 398 days and, under an authority of one's own, 825 at most
RENEWED = timedelta(days=30)  # before its end


@dataclass(frozen=True)
class Leaf:
    """A certificate on the disk: key, itself and its signer in one file."""

    path: Path
    reach: Reach
    begins: datetime
    ends: datetime
    serial: int

    def fits(self, authority: Authority, reach: Reach, now: datetime) -> bool:
        """For all of this reach, begun, and not near its end; one that ends with its signer cannot be bettered.

        What it is for beyond that is no fault: an address comes back when the wireless does.
        """
        last = self.ends >= authority.signer.not_valid_after_utc
        enough = set(self.reach.all) >= set(reach.all)
        return enough and self.begins <= now < (self.ends if last else self.ends - RENEWED)


def fit_leaf(folder: Path, authority: Authority, reach: Reach, now: datetime) -> Leaf:
    """The kept leaf while it still fits; else one made now for this reach. Raises YardtrueError."""
    path = folder / FILE
    kept = read_leaf(path, authority)
    if kept is None or not kept.fits(authority, reach, now):
        strongbox.replace(path, make_leaf(authority, reach, now))
        kept = read_leaf(path, authority)
    if kept is None:
        raise YardtrueError("lan-folder", slots={"path": str(path), "why": sentence("lan.not-as-written")})
    return kept


def read_leaf(path: Path, authority: Authority) -> Leaf | None:
    """The leaf of a file; None where there is none, it is torn or in part, or another authority's."""
    content = strongbox.read(path) or b""
    try:
        leaf, signer = x509.load_pem_x509_certificates(content)
        key = serialization.load_pem_private_key(content, None)
        leaf.verify_directly_issued_by(authority.signer)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return None
    if key.public_key() != leaf.public_key() or signer != authority.signer:
        return None
    return Leaf(path, reach_of(leaf), leaf.not_valid_before_utc, leaf.not_valid_after_utc, leaf.serial_number)


def reach_of(leaf: x509.Certificate) -> Reach:
    """The addresses and names it is for."""
    named = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return Reach(
        tuple(map(str, named.get_values_for_type(x509.IPAddress))), tuple(named.get_values_for_type(x509.DNSName))
    )


def make_leaf(authority: Authority, reach: Reach, now: datetime) -> bytes:
    """Key, leaf and signer as one PEM text. What lies beyond the authority is not refused here: phones refuse it."""
    key = new_key()
    ends = min(now + LASTS, authority.signer.not_valid_after_utc)
    # The common name is no host name on purpose: some readers hold one to the constraints on names.
    builder = begun(sentence("lan.leaf-name"), name_of(authority.signer), key, authority.key, now - EARLY, ends)
    names = [x509.IPAddress(ip_address(host)) if is_address(host) else x509.DNSName(host) for host in reach.all]
    builder = builder.add_extension(x509.SubjectAlternativeName(names), critical=False)
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    builder = builder.add_extension(uses("digital_signature"), critical=True)
    return pem(key, [builder.sign(authority.key, hashes.SHA256()), authority.signer])
