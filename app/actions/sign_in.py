"""Signing in and out, by name with a passphrase or, on a paired device, a PIN."""

import hmac
import secrets
import unicodedata
from datetime import datetime, timedelta
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from app.actions.act import Act, Invalid
from app.records import visits
from app.records.house import House
from app.records.tables.people import DeviceRow, PersonRow, VisitRow, WrongTryRow

PASSPHRASE_LEAST = 15
PASSPHRASE_MOST = 128
PIN_DIGITS = 6
# Argon2id with at least 19 MiB and two passes (OWASP password storage guidance, from memory).
HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
# Passphrases that fill the length and are guessed first.
COMMON = frozenset(
    {
        "passwordpassword",
        "password12345678",
        "123456789012345",
        "1234567890123456",
        "qwertyuiopasdfgh",
        "aaaaaaaaaaaaaaa",
    }
)
FREE_TRIES = 5
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
TRIES_WINDOW = timedelta(hours=1)
DEVICE_TRIES = 20
WRONG = "The name and the secret do not belong together. Try again."


class TooOften(Exception):
    """Too many wrong tries; carries how many seconds to wait."""

    def __init__(self, seconds: int) -> None:
        super().__init__(f"wait {seconds} seconds")
        self.seconds = seconds


def hash_secret(house: House, secret: str) -> str:
    """Return the Argon2id hash of a passphrase or PIN, with a secret from the key file mixed in."""
    return HASHER.hash(_peppered(house, secret))


def matches(house: House, stored: str, secret: str) -> bool:
    """Return whether a secret belongs to a stored hash; takes the same time for an unknown person."""
    try:
        return HASHER.verify(stored or _nobody(), _peppered(house, secret)) and bool(stored)
    except (VerificationError, InvalidHashError):
        return False


def judge_passphrase(passphrase: str, shop_name: str) -> str | None:
    """Return a sentence when a passphrase may not be used, None when it may."""
    if not PASSPHRASE_LEAST <= len(passphrase) <= PASSPHRASE_MOST:
        return f"Use {PASSPHRASE_LEAST} to {PASSPHRASE_MOST} characters, for example four or five words."
    low = passphrase.lower()
    if (
        low in COMMON
        or len(set(low)) < FREE_TRIES
        or (shop_name and low.replace(shop_name.lower(), "").strip() == "")
    ):
        return "This passphrase is guessed too easily. Choose other words."
    return None


def wait_left(house: House, who: str, device: str, now: datetime) -> int:
    """Return how many seconds this person on this device must wait before the next try (0: none)."""
    with house.store.reading() as session:
        mine = visits.wrong_tries(session, who=who.lower(), device=device, since=now - TRIES_WINDOW)
        here = visits.wrong_tries(session, device=device, since=now - TRIES_WINDOW)
    over = len(mine) - FREE_TRIES
    wait = timedelta()
    if over >= 0:
        wait = min(FIRST_WAIT * 2**over, LONGEST_WAIT) - (now - mine[-1])
    if len(here) >= DEVICE_TRIES:
        wait = max(wait, here[-DEVICE_TRIES] + TRIES_WINDOW - now)
    return max(0, int(wait.total_seconds() + 0.999))


def check(
    house: House, name: str, secret: str, device: DeviceRow | None, now: datetime
) -> tuple[PersonRow, str]:
    """Return the person and the kind of proof ("pin" or "passphrase"); raises TooOften or Invalid.

    A PIN counts only on a paired device. Unknown names and wrong secrets answer alike.
    """
    here = f"device:{device.id}" if device else "unpaired"
    if wait := wait_left(house, name, here, now):
        raise TooOften(wait)
    with house.store.reading() as session:
        person = visits.person_named(session, name)
    by_pin = device is not None and len(secret) == PIN_DIGITS and secret.isdigit()
    stored = "" if person is None else (person.pin_hash if by_pin else person.passphrase_hash)
    if matches(house, stored, secret) and person is not None:
        return person, "pin" if by_pin else "passphrase"
    with house.store.writing() as session:
        session.add(WrongTryRow(who=name.lower(), device=here, at=now))
    raise Invalid({"secret": WRONG})


def begin(act: Act, person: PersonRow, proof: str, device: DeviceRow | None) -> str:
    """Start a visit for a person whose proof was checked; return the cookie's token."""
    visit = VisitRow(
        token_hash="",
        kind="staff",
        person_id=person.id,
        device_id=device.id if device else None,
        proof=proof,
        started_at=act.now,
        seen_at=act.now,
        confirmed_at=act.now if proof == "passphrase" else None,
    )
    return _start(act, visit)


def begin_guest(act: Act, guest_id: int, device_id: int | None) -> str:
    """Start a visit locked to one guest; return the cookie's token."""
    visit = VisitRow(
        token_hash="",
        kind="guest",
        guest_id=guest_id,
        device_id=device_id,
        proof="handed over",
        started_at=act.now,
        seen_at=act.now,
    )
    return _start(act, visit)


def end(act: Act, visit_id: int, why: str) -> None:
    """End a visit for good."""
    visit = act.get(VisitRow, visit_id)
    visit.ended_at = act.now
    visit.why_ended = why
    act.session.add(visit)


def touch(house: House, visit_id: int, now: datetime) -> None:
    """Note that a visit is alive (at most once a minute: the caller checks)."""
    with house.store.writing() as session:
        visit = session.get(VisitRow, visit_id)
        if visit is not None and visit.ended_at is None:
            visit.seen_at = now
            session.add(visit)


def deal_pin() -> str:
    """Return a fresh random PIN of six digits."""
    return f"{secrets.randbelow(10**PIN_DIGITS):0{PIN_DIGITS}d}"


def _start(act: Act, visit: VisitRow) -> str:
    token = secrets.token_urlsafe(32)
    visit.token_hash = visits.token_hash(token)
    act.add(visit)
    return token


def _peppered(house: House, secret: str) -> str:
    plain = unicodedata.normalize("NFC", secret).encode()
    return hmac.new(house.master.named("secrets"), plain, "sha256").hexdigest()


@lru_cache(maxsize=1)
def _nobody() -> str:
    """A hash nobody has the secret of, so that an unknown name takes as long as a known one."""
    return HASHER.hash(secrets.token_hex(16))
