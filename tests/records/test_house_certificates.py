"""The shop's own certificates, held against the verifier of the cryptography library and against OpenSSL."""

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from app.records.store import house_certificates as made
from app.records.store.house_certificates import Certificates, certificates
from app.records.store.problems import StoreProblem
from app.settings.clock import wall_clock

NOW = datetime(2026, 7, 15, 8, 0, tzinfo=UTC)
NAMES = ("192.168.1.20", "127.0.0.1", "localhost", "quay.local", "[::1]")


def pem(file: Path) -> x509.Certificate:
    """Read a certificate."""
    return x509.load_pem_x509_certificate(file.read_bytes())


def verify(told: Certificates, name: str, at: datetime = NOW) -> None:
    """Verify the page's certificate for a name, as a browser does; raises VerificationError."""
    subject: x509.GeneralName = x509.DNSName(name)
    if name[0].isdigit() or ":" in name:
        subject = x509.IPAddress(ip_address(name))
    policy = PolicyBuilder().store(Store([pem(told.authority)])).time(at)
    policy.build_server_verifier(subject).verify(pem(told.pages), [])


def test_a_browser_that_trusts_the_authority_believes_every_name_and_no_other(tmp_path: Path) -> None:
    told = certificates(tmp_path, NAMES, "Harbour Steps", NOW)
    for name in ("192.168.1.20", "127.0.0.1", "localhost", "quay.local", "::1"):
        verify(told, name)
    for name in ("192.168.1.21", "other.local"):
        with pytest.raises(VerificationError):
            verify(told, name)
    pages = pem(told.pages)
    assert (pages.not_valid_after_utc - pages.not_valid_before_utc).days == 397
    assert told.good_until == pages.not_valid_after_utc
    with pytest.raises(VerificationError):
        verify(told, "localhost", NOW + timedelta(days=400))
    for file in (tmp_path / made.FOLDER).iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / made.FOLDER).stat().st_mode) == 0o700
    assert x509.load_der_x509_certificate(told.authority_der()) == pem(told.authority)
    assert told.fingerprint.replace(" ", "").lower() == pem(told.authority).fingerprint(hashes.SHA256()).hex()


def test_who_steals_the_authority_cannot_vouch_for_a_public_name(tmp_path: Path) -> None:
    told = certificates(tmp_path, NAMES, "Harbour Steps", NOW)
    stolen = tmp_path / made.FOLDER / made.AUTHORITY_KEY
    signer = made.serialization.load_pem_private_key(stolen.read_bytes(), None)
    assert isinstance(signer, ec.EllipticCurvePrivateKey)
    key = ec.generate_private_key(ec.SECP256R1())
    forged = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "bank.example")]))
        .issuer_name(pem(told.authority).subject)
        .public_key(key.public_key())
        .serial_number(7)
        .not_valid_before(NOW)
        .not_valid_after(NOW + timedelta(days=30))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("bank.example")]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([made.ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False
        )
        .sign(signer, hashes.SHA256())
    )
    policy = PolicyBuilder().store(Store([pem(told.authority)])).time(NOW)
    with pytest.raises(VerificationError):
        policy.build_server_verifier(x509.DNSName("bank.example")).verify(forged, [])


def test_the_same_files_serve_until_they_grow_old_or_the_shop_gets_another_name(tmp_path: Path) -> None:
    first = certificates(tmp_path, NAMES, "Harbour Steps", NOW)
    before = first.pages.read_bytes()
    certificates(tmp_path, tuple(reversed(NAMES)), "Another word", NOW + timedelta(days=200))
    assert first.pages.read_bytes() == before
    certificates(tmp_path, NAMES, "Harbour Steps", NOW + timedelta(days=250))
    renewed = first.pages.read_bytes()
    assert renewed != before
    verify(first, "localhost", NOW + timedelta(days=600))
    certificates(tmp_path, (*NAMES, "192.168.1.30"), "Harbour Steps", NOW + timedelta(days=250))
    verify(first, "192.168.1.30", NOW + timedelta(days=250))
    authority = first.authority.read_bytes()
    certificates(tmp_path, NAMES, "Harbour Steps", NOW + timedelta(days=3400))
    assert first.authority.read_bytes() != authority
    verify(first, "localhost", NOW + timedelta(days=3400))


@pytest.mark.parametrize("name", ["8.8.8.8", "dive.example.com", "2001:db8::1", "shop-pc"])
def test_a_public_name_is_refused_in_plain_words(tmp_path: Path, name: str) -> None:
    with pytest.raises(StoreProblem, match="inside a house"):
        certificates(tmp_path, (name,), "Harbour Steps", NOW)


def test_a_file_that_somebody_cut_is_told_and_pages_of_another_authority_are_made_anew(
    tmp_path: Path,
) -> None:
    told = certificates(tmp_path, NAMES, "Harbour Steps", NOW)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    told.pages.write_bytes(certificates(elsewhere, NAMES, "Other", NOW).pages.read_bytes())
    verify(certificates(tmp_path, NAMES, "Harbour Steps", NOW), "localhost")
    told.authority.write_text("nonsense")
    with pytest.raises(StoreProblem, match="Remove the folder"):
        certificates(tmp_path, NAMES, "Harbour Steps", NOW)


def test_openssl_shakes_hands(tmp_path: Path) -> None:
    told = certificates(tmp_path, NAMES, "Harbour Steps", wall_clock())
    serves = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serves.load_cert_chain(told.pages, told.pages_key)
    trusts = ssl.create_default_context(cafile=told.authority)
    with socket.create_server(("127.0.0.1", 0)) as door:

        def answer() -> None:
            with door.accept()[0] as raw, serves.wrap_socket(raw, server_side=True) as safe:
                safe.sendall(b"hello")

        thread = threading.Thread(target=answer)
        thread.start()
        with (
            socket.create_connection(door.getsockname()) as raw,
            trusts.wrap_socket(raw, server_hostname="127.0.0.1") as spoken,
        ):
            assert spoken.recv(5) == b"hello" and spoken.version() == "TLSv1.3"
        thread.join()
