"""The shop's own certificate authority, and the certificate of its pages made with it (RFC 5280, X.509 v3).

Phones trust the authority once. It can vouch for nothing but addresses inside a house: its certificate holds
the only names and ranges that it may sign for (name constraints), so that who steals its key gains no bank.
The page's certificate lives 397 days, which every browser accepts, and is made anew in good time or when
the shop gets another name. EC keys on curve P-256, signatures with SHA-256.
"""

import ipaddress
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from app.records.store.problems import StoreProblem

FOLDER = "https"
AUTHORITY, AUTHORITY_KEY = "authority.pem", "authority.key"
PAGES, PAGES_KEY = "pages.pem", "pages.key"
AUTHORITY_DAYS = 3650
PAGES_DAYS = 397
# Made anew when fewer days are left: a shop is closed for a winter at most.
RENEW_DAYS = 150
# A device whose clock is a little behind shall not call a new certificate not yet good.
BEFORE = timedelta(days=1)
# Inside a house: private and link-local addresses (RFC 1918, RFC 4193, RFC 3927) and this computer itself.
NETWORKS = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10",
    "::1/128",
)  # fmt: skip
# Names that no public server has (RFC 6761, RFC 6762, RFC 8375).
DOMAINS = ("localhost", "local", "home.arpa", "internal", "lan")


@dataclass(frozen=True)
class Certificates:
    """Files to serve with, and what a person compares on the phone."""

    authority: Path
    pages: Path
    pages_key: Path
    fingerprint: str
    good_until: datetime
    names: tuple[str, ...]

    def authority_der(self) -> bytes:
        """Return the authority as phones take it in."""
        return _read(self.authority).public_bytes(serialization.Encoding.DER)


def certificates(folder: Path, names: Iterable[str], shop: str, now: datetime) -> Certificates:
    """Return the certificates of a data folder, made or renewed where needed.

    names: host names and addresses that devices type. Raises StoreProblem for a name that no house has, and
    for files that cannot be read.
    """
    asked = tuple(sorted({name.strip("[]").lower() for name in names}))
    for name in asked:
        _check_inside(name)
    place = folder / FOLDER
    place.mkdir(mode=0o700, exist_ok=True)
    if not (place / AUTHORITY).exists():
        _make_authority(place, shop, now)
    authority = _read(place / AUTHORITY)
    if now >= authority.not_valid_after_utc - timedelta(days=PAGES_DAYS):
        # Its last year: phones must trust a new one.
        _make_authority(place, shop, now)
        authority = _read(place / AUTHORITY)
    if not _serves(place, authority, asked, now):
        _make_pages(place, authority, asked, now)
    pages = _read(place / PAGES)
    print_of = authority.fingerprint(hashes.SHA256()).hex().upper()
    return Certificates(
        place / AUTHORITY,
        place / PAGES,
        place / PAGES_KEY,
        " ".join(print_of[n : n + 4] for n in range(0, len(print_of), 4)),
        pages.not_valid_after_utc,
        asked,
    )


def _check_inside(name: str) -> None:
    """Refuse a name the authority may not sign for: no phone would believe it."""
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        if any(name == one or name.endswith(f".{one}") for one in DOMAINS):
            return
        ends = ", ".join(f".{one}" for one in DOMAINS[1:])
        raise StoreProblem(
            f"{name} is not a name inside a house. With --https call the shop's computer by an address such "
            f"as 192.168.1.20, or by a name that ends with {ends}."
        ) from None
    networks = (ipaddress.ip_network(one) for one in NETWORKS)
    if not any(address.version == one.version and address in one for one in networks):
        raise StoreProblem(
            f"{name} is not an address inside a house. Use the one that the shop's router gave."
        )


def _make_authority(place: Path, shop: str, now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"{shop[:40]}, own computer")])
    permitted: list[x509.GeneralName] = [x509.DNSName(one) for one in DOMAINS]
    permitted += [x509.IPAddress(ipaddress.ip_network(one)) for one in NETWORKS]
    certificate = (
        _begun(name, name, key.public_key(), now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(place / AUTHORITY_KEY, _private(key))
    _write(place / AUTHORITY, certificate.public_bytes(serialization.Encoding.PEM))


def _make_pages(place: Path, authority: x509.Certificate, names: tuple[str, ...], now: datetime) -> None:
    signer = serialization.load_pem_private_key((place / AUTHORITY_KEY).read_bytes(), None)
    if not isinstance(signer, ec.EllipticCurvePrivateKey):
        raise StoreProblem(f"{place / AUTHORITY_KEY} is not what this program wrote. Remove {place}.")
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = (
        _begun(
            x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0])]),
            authority.subject,
            key.public_key(),
            now,
            PAGES_DAYS,
        )
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False
        )
        .sign(signer, hashes.SHA256())
    )
    _write(place / PAGES_KEY, _private(key))
    _write(place / PAGES, certificate.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now - BEFORE + timedelta(days=days))
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _serves(place: Path, authority: x509.Certificate, names: tuple[str, ...], now: datetime) -> bool:
    """Whether the page's certificate is of this authority, for these names, and good for long enough."""
    if not (place / PAGES).exists() or not (place / PAGES_KEY).exists():
        return False
    pages = _read(place / PAGES)
    try:
        pages.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature):
        return False
    held = pages.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(held) == {_general(name) for name in names} and now < pages.not_valid_after_utc - timedelta(
        days=RENEW_DAYS
    )


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _read(file: Path) -> x509.Certificate:
    try:
        return x509.load_pem_x509_certificate(file.read_bytes())
    except (OSError, ValueError):
        raise StoreProblem(
            f"{file} cannot be read. Remove the folder {file.parent}: a new one is made, and each phone "
            "trusts it once more."
        ) from None


def _private(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(file: Path, data: bytes) -> None:
    """Write a file that only its owner reads, whole or not at all."""
    fresh = file.with_suffix(".new")
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(file)
