"""What the desk's own authority can vouch for, held to openssl; the files that hold its keys."""
from __future__ import annotations

import os
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from server.lan import authority, leaf, strongbox
from server.lan.addresses import Reach
from tests.lan_case import code_of, keeper_at

NOW = datetime.now(UTC).replace(microsecond=0)
HOME = Reach(("192.168.1.20",), ("fern.local",))
OPENSSL = shutil.which("openssl")


@pytest.fixture(scope="module")
def made() -> authority.Authority:
    return authority.make_authority(HOME, NOW)

# What it can vouch for

def verified(folder: Path, made: authority.Authority, reach: Reach, *options: str) -> str:
    """What openssl says of a leaf for this reach: "OK", or the fault."""
    (folder / "root.pem").write_text(made.root_pem)
    content = leaf.make_leaf(made, reach, NOW).decode()
    (folder / "leaf.pem").write_text(content)
    signer = made.signer.public_bytes(serialization.Encoding.PEM)
    (folder / "signer.pem").write_bytes(signer)
    command = [OPENSSL, "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", folder / "root.pem",
               "-untrusted", folder / "signer.pem", *options, folder / "leaf.pem"]
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, check=False)
    return done.stderr + done.stdout


@pytest.mark.skipif(not OPENSSL, reason="no openssl on this machine to hold the authority to")
class TestOpenssl:
    @pytest.mark.parametrize("option", [
        ("-verify_ip", "192.168.1.20"), ("-verify_hostname", "fern.local"),
    ])
    def test_its_own_address_and_name_are_vouched_for(self, tmp_path, made, option):
        assert verified(tmp_path, made, HOME, *option).endswith("leaf.pem: OK\n")

    @pytest.mark.parametrize(("reach", "fault"), [
        (Reach(("192.168.1.21",), ()), "permitted subtree violation"),
        (Reach(("8.8.8.8",), ()), "permitted subtree violation"),
        (Reach(("fd00::20",), ()), "subtree violation"),
        (Reach((), ("bank.example",)), "permitted subtree violation"),
        (Reach((), ("fern.local.example",)), "permitted subtree violation"),
        (Reach((), ("notfern.local",)), "permitted subtree violation"),
        (Reach(("192.168.1.20",), ("fern.local", "bank.example")), "permitted subtree violation"),
    ])
    def test_every_other_is_refused(self, tmp_path, made, reach, fault):
        assert fault in verified(tmp_path, made, reach)

    @pytest.mark.parametrize(("limits", "other"), [
        (Reach(("10.0.0.4",), ()), Reach((), ("fern.local",))),
        (Reach((), ("fern.local",)), Reach(("10.0.0.4",), ())),
        (Reach((), ("fern.local",)), Reach(("fd00::4",), ())),
    ])
    def test_a_kind_it_has_none_of_is_shut_whole(self, tmp_path, limits, other):
        assert "excluded subtree violation" in verified(tmp_path, authority.make_authority(limits, NOW), other)

    def test_the_signers_own_limits_hold_where_a_root_is_taken_without_its(self, tmp_path, made):
        """A phone may hold a trusted root to nothing: then the signer beneath still carries the limits."""
        root = unlimited_root()
        signer = signed_again(made.signer, root)
        (tmp_path / "root.pem").write_bytes(root[0].public_bytes(serialization.Encoding.PEM))
        (tmp_path / "signer.pem").write_bytes(signer.public_bytes(serialization.Encoding.PEM))
        for reach, expected in ((HOME, "OK"), (Reach((), ("bank.example",)), "permitted subtree violation")):
            content = leaf.make_leaf(authority.Authority(root[0], signer, made.key), reach, NOW)
            (tmp_path / "leaf.pem").write_bytes(content)
            command = [OPENSSL, "verify", "-CAfile", "root.pem", "-untrusted", "signer.pem", "leaf.pem"]
            done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
            assert expected in done.stdout + done.stderr

    def test_a_third_authority_beneath_the_signer_is_refused(self, tmp_path, made):
        key = authority.new_key()
        third = authority.authority_part("third", authority.name_of(made.signer), key, made.key, NOW, authority.constraints(HOME), 0)
        content = leaf.make_leaf(authority.Authority(made.root, third, key), HOME, NOW)
        (tmp_path / "root.pem").write_text(made.root_pem)
        between = [one.public_bytes(serialization.Encoding.PEM) for one in (made.signer, third)]
        (tmp_path / "between.pem").write_bytes(b"".join(between))
        (tmp_path / "leaf.pem").write_bytes(content)
        command = [OPENSSL, "verify", "-CAfile", "root.pem", "-untrusted", "between.pem", "leaf.pem"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert "path length constraint exceeded" in done.stdout + done.stderr


def unlimited_root():
    key = authority.new_key()
    builder = authority.begun("free", "free", key, key, NOW - authority.EARLY, NOW + authority.LASTS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=1), critical=True)
    builder = builder.add_extension(authority.uses("key_cert_sign"), critical=True)
    return builder.sign(key, authority.hashes.SHA256()), key


def signed_again(certificate, root):
    """The same certificate with the same extensions, by another root."""
    builder = x509.CertificateBuilder(
        issuer_name=root[0].subject, subject_name=certificate.subject, public_key=certificate.public_key(),
        serial_number=x509.random_serial_number(), not_valid_before=certificate.not_valid_before_utc,
        not_valid_after=certificate.not_valid_after_utc,
    )
    for one in certificate.extensions:
        if not isinstance(one.value, x509.AuthorityKeyIdentifier):
            builder = builder.add_extension(one.value, one.critical)
    return builder.sign(root[1], authority.hashes.SHA256())


@pytest.mark.parametrize(("reach", "subject", "good"), [
    (HOME, x509.IPAddress(ip_address("192.168.1.20")), True), (HOME, x509.DNSName("fern.local"), True),
    (Reach(("192.168.1.21",), ()), x509.IPAddress(ip_address("192.168.1.21")), False),
    (Reach((), ("bank.example",)), x509.DNSName("bank.example"), False), (HOME, x509.DNSName("bank.example"), False),
])
def test_a_second_reader_of_certificates_agrees(made, reach, subject, good):
    """The verifier of the cryptography package, written apart from openssl's."""
    shown, signer = x509.load_pem_x509_certificates(leaf.make_leaf(made, reach, NOW))
    verifier = PolicyBuilder().store(Store([made.root])).time(NOW).build_server_verifier(subject)
    if good:
        assert verifier.verify(shown, [signer])[-1] == made.root
    else:
        with pytest.raises(VerificationError):
            verifier.verify(shown, [signer])


def test_both_authorities_carry_the_limits_as_critical(made):
    for one, depth in ((made.root, 1), (made.signer, 0)):
        limits = one.extensions.get_extension_for_class(x509.NameConstraints)
        assert limits.critical
        assert limits.value == authority.constraints(HOME)
        assert one.extensions.get_extension_for_class(x509.BasicConstraints).value == x509.BasicConstraints(True, depth)
    assert made.vouches == HOME


def test_covers_says_what_the_limits_say(made):
    for host in ("192.168.1.20", "fern.local", "yard.fern.local"):
        assert made.covers(host)
    for host in ("192.168.1.21", "local", "notfern.local", "fern.local.example", "fd00::20"):
        assert not made.covers(host)

# Files

def test_the_roots_key_is_nowhere_and_the_others_are_their_owners_alone(tmp_path):
    opened = keeper_at(tmp_path)
    files = sorted((tmp_path / "lan").iterdir())
    assert [file.name for file in files] == ["authority.pem", "leaf.pem"]
    for file in files:
        assert file.stat().st_mode & 0o777 == 0o600
        key = serialization.load_pem_private_key(file.read_bytes(), None)
        assert file.read_bytes().count(b"PRIVATE KEY-----") == 2
        assert key.public_key() != opened.authority.root.public_key()
    assert (tmp_path / "lan").stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize(("name", "mode"), [("authority.pem", 0o640), ("authority.pem", 0o604), ("leaf.pem", 0o644), (".", 0o755)])
def test_a_key_that_others_can_read_is_refused_until_it_is_shut(tmp_path, name, mode):
    keeper_at(tmp_path)
    path = tmp_path / "lan" / name
    path.chmod(mode)
    assert code_of(keeper_at, tmp_path) == "lan-key-open"
    path.chmod(0o700 if name == "." else 0o600)
    keeper_at(tmp_path)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a file away")
def test_a_key_of_another_user_is_refused(tmp_path):
    keeper_at(tmp_path)
    os.chown(tmp_path / "lan" / "authority.pem", 12345, 12345)
    assert code_of(keeper_at, tmp_path) == "lan-key-owner"


@pytest.mark.parametrize("spoil", [
    lambda content: b"", lambda content: content[:200], lambda content: content[: len(content) - 300],
    lambda content: content.replace(b"BEGIN PRIVATE", b"BEGIN NOTHING"), lambda content: b"not an authority",
    lambda content: content[: content.index(b"-----BEGIN CERT")] + leaf_of_another(),
])
def test_a_torn_authority_is_said_and_never_overwritten(tmp_path, spoil):
    keeper_at(tmp_path)
    path = tmp_path / "lan" / "authority.pem"
    spoiled = spoil(path.read_bytes())
    path.write_bytes(spoiled)
    assert code_of(keeper_at, tmp_path) == "lan-authority-torn"
    assert path.read_bytes() == spoiled


def leaf_of_another() -> bytes:
    other = authority.make_authority(HOME, NOW)
    return b"".join(one.public_bytes(serialization.Encoding.PEM) for one in (other.signer, other.root))


def test_a_torn_leaf_is_made_anew(tmp_path):
    before = keeper_at(tmp_path)
    path = tmp_path / "lan" / "leaf.pem"
    whole = path.read_bytes()
    without_signer = whole[: whole.rindex(b"-----BEGIN")]
    for content in (whole[:300], b"", leaf_of_another(), without_signer, without_signer + leaf_of_another()):
        path.write_bytes(content)
        after = keeper_at(tmp_path)
        assert after.authority.fingerprint == before.authority.fingerprint
        assert leaf.read_leaf(path, after.authority) is not None


def test_many_that_start_at_once_end_with_one_authority(tmp_path):
    with ThreadPoolExecutor(12) as pool:
        opened = list(pool.map(lambda _: authority.open_authority(tmp_path / "lan", HOME, NOW), range(24)))
    assert len({one.fingerprint for one, _ in opened}) == 1
    assert [made for _, made in opened].count(True) == 1
    assert [file.name for file in (tmp_path / "lan").iterdir()] == ["authority.pem"]


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "lan").write_text("a file")
    assert code_of(strongbox.make_folder, tmp_path / "lan") == "lan-folder"
    assert code_of(strongbox.make_folder, tmp_path / "lan" / "deeper") == "lan-folder"


def test_a_new_authority_is_made_only_when_asked_for(tmp_path):
    first = keeper_at(tmp_path)
    assert first.made
    again = keeper_at(tmp_path)
    assert not again.made
    assert again.authority.fingerprint == first.authority.fingerprint == again.kept_fingerprint()
    new = again.open(anew=True)
    assert new.made
    assert new.authority.fingerprint != first.authority.fingerprint
    assert keeper_at(tmp_path).authority.fingerprint == new.authority.fingerprint
