"""The desk's own authority: made once, able to vouch for this machine's addresses and names and nothing else.

Two certificates. The root is what a phone trusts; its key signs once and is never kept. The signer beneath it makes the
leaves; its key stays in one file. Both carry the name constraints, critical (RFC 5280, 4.2.1.10): not every phone holds
a root it was told to trust to the root's own constraints, but each holds the signer to the signer's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from server.errors import YardtrueError
from server.lan import strongbox
from server.lan.addresses import Reach
from server.words import sentence

FILE = "authority.pem"
LASTS = timedelta(days=3650)
EARLY = timedelta(days=2)  # a phone's clock may be a little behind
EVERY_ADDRESS = {4: ip_network("0.0.0.0/0"), 6: ip_network("::/0")}
KEY_USES = (
    "digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement",
    "key_cert_sign", "crl_sign", "encipher_only", "decipher_only",
)


@dataclass(frozen=True)
class Authority:
    """The root a phone trusts, the signer beneath it, and the signer's key."""

    root: x509.Certificate
    signer: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the root, as phones write it: pairs of digits, colons between."""
        return self.root.fingerprint(hashes.SHA256()).hex(":").upper()

    @property
    def name(self) -> str:
        return name_of(self.root)

    @property
    def vouches(self) -> Reach:
        """What the constraints permit."""
        permitted = self.signer.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
        addresses = [str(one.value).partition("/")[0] for one in permitted if isinstance(one, x509.IPAddress)]
        return Reach(tuple(addresses), tuple(one.value for one in permitted if isinstance(one, x509.DNSName)))

    @property
    def root_pem(self) -> str:
        return self.root.public_bytes(serialization.Encoding.PEM).decode()

    @property
    def root_der(self) -> bytes:
        return self.root.public_bytes(serialization.Encoding.DER)

    def covers(self, host: str) -> bool:
        """An address it names, or a name it names or one beneath that."""
        allowed = self.vouches
        return host in allowed.addresses or any(host == name or host.endswith(f".{name}") for name in allowed.names)


def open_authority(folder: Path, reach: Reach, now: datetime, anew: bool = False) -> tuple[Authority, bool]:
    """The authority kept in a folder, or one made now for this reach; and whether it was made. Raises YardtrueError."""
    strongbox.make_folder(folder)
    path = folder / FILE
    kept = None if anew else strongbox.read(path)
    if kept is not None:
        return checked(read_authority(path, kept), path, now), False
    made = make_authority(reach, now)
    if anew:
        strongbox.replace(path, written(made))
    elif not strongbox.add(path, written(made)):
        return open_authority(folder, reach, now)
    return made, True


def read_authority(path: Path, content: bytes) -> Authority:
    """Raises YardtrueError for a file that is torn or no authority."""
    try:
        key = serialization.load_pem_private_key(content, None)
        signer, root = x509.load_pem_x509_certificates(content)
        signer.verify_directly_issued_by(root)
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != signer.public_key():
            raise ValueError(path)
        found = Authority(root, signer, key)
        if not found.vouches.all:
            raise ValueError(path)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm, x509.ExtensionNotFound) as error:
        raise YardtrueError("lan-authority-torn", slots={"path": str(path)}) from error
    return found


def checked(authority: Authority, path: Path, now: datetime) -> Authority:
    """The authority, if it holds today. Raises YardtrueError."""
    begins, ends = authority.signer.not_valid_before_utc, authority.signer.not_valid_after_utc
    if now < begins:
        raise YardtrueError("lan-clock", slots={"now": day(now), "begins": day(begins)})
    if now >= ends:
        raise YardtrueError("lan-authority-over", slots={"ended": day(ends), "path": str(path)})
    return authority


def make_authority(reach: Reach, now: datetime) -> Authority:
    """A new authority for these addresses and names; the root's key is gone when this returns."""
    root_key, key = new_key(), new_key()
    called = sentence("lan.authority-name", {"host": reach.names[0] if reach.names else reach.first, "day": day(now)})
    beneath = sentence("lan.signer-name", {"authority": called})
    limits = constraints(reach)
    root = authority_part(called, called, root_key, root_key, now, limits, depth=1)
    signer = authority_part(beneath, called, key, root_key, now, limits, depth=0)
    return Authority(root, signer, key)


def constraints(reach: Reach) -> x509.NameConstraints:
    """These and no other; a kind of which there is none is shut whole, since a kind not named at all would be free."""
    addresses = [ip_network(ip_address(address)) for address in reach.addresses]
    permitted = [x509.DNSName(name) for name in reach.names] + [x509.IPAddress(one) for one in addresses]
    shut: list[x509.GeneralName] = [] if reach.names else [x509.DNSName("")]
    versions = {one.version for one in addresses}
    shut += [x509.IPAddress(every) for version, every in EVERY_ADDRESS.items() if version not in versions]
    return x509.NameConstraints(permitted, shut or None)


def authority_part(
    called: str, by: str, key: ec.EllipticCurvePrivateKey, by_key: ec.EllipticCurvePrivateKey, now: datetime,
    limits: x509.NameConstraints, depth: int,
) -> x509.Certificate:
    """Root or signer: may sign, for servers only, `depth` more authorities beneath it."""
    builder = begun(called, by, key, by_key, now - EARLY, now + LASTS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=depth), critical=True)
    builder = builder.add_extension(uses("key_cert_sign", "crl_sign"), critical=True)
    return builder.add_extension(limits, critical=True).sign(by_key, hashes.SHA256())


def begun(
    called: str, by: str, key: ec.EllipticCurvePrivateKey, by_key: ec.EllipticCurvePrivateKey,
    begins: datetime, ends: datetime,
) -> x509.CertificateBuilder:
    """What every certificate here carries: names, key, days, whose key signs it, and that it is for servers."""
    return (
        x509.CertificateBuilder()
        .subject_name(common_name(called)).issuer_name(common_name(by))
        .public_key(key.public_key()).serial_number(x509.random_serial_number())
        .not_valid_before(begins).not_valid_after(ends)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(by_key.public_key()), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )


def uses(*named: str) -> x509.KeyUsage:
    return x509.KeyUsage(**{use: use in named for use in KEY_USES})


def common_name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def name_of(certificate: x509.Certificate) -> str:
    return str(certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)


def new_key() -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


def written(authority: Authority) -> bytes:
    return pem(authority.key, [authority.signer, authority.root])


def pem(key: ec.EllipticCurvePrivateKey, chain: Sequence[x509.Certificate]) -> bytes:
    """A key and the certificates above it in one text, so that they cannot come apart."""
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return private + b"".join(one.public_bytes(serialization.Encoding.PEM) for one in chain)


def beyond(authority: Authority, hosts: Iterable[str]) -> tuple[str, ...]:
    """The addresses and names it cannot vouch for."""
    return tuple(host for host in hosts if not authority.covers(host))


def day(moment: datetime) -> str:
    return moment.date().isoformat()
