"""Signing in and out, by name with a passphrase or, on a paired device, a PIN."""

import hmac
import secrets
import unicodedata
from datetime import datetime, timedelta
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from app.actions.act import PROGRAM, Act, Invalid, acting
from app.records.setup import visits
from app.records.store.house import House
from app.records.tables.people import DeviceRow, PersonRow, VisitRow, WrongTryRow

PASSPHRASE_LEAST = 15
PASSPHRASE_MOST = 128
PIN_DIGITS = 6
# Argon2id with at least 19 MiB and two passes (OWASP password storage guidance, from memory).
HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
# Words that fill the length and are guessed first; digits and signs around them add nothing.
COMMON = (
    "password", "passphrase", "letmein", "iloveyou", "welcome", "trustno", "football", "baseball", "sunshine",
    "princess", "monkey", "dragon", "master", "admin", "login", "secret", "changeme",
    "correcthorsebatterystaple", "thequickbrownfoxjumpsoverthelazydog",
)  # fmt: skip
# Rows that fingers walk along.
WALKS = (
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiopasdfghjklzxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "0123456789",
)
LEAST_LETTERS = 5
LEAST_REST = 8
FREE_TRIES = 5
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
TRIES_WINDOW = timedelta(hours=1)
DEVICE_TRIES = 20
ROW_TRIES = 100
NO_PIN_HERE = (
    "There were too many wrong tries on this device. It takes no PIN for an hour: type your passphrase."
)
WRONG = "The name and the secret do not belong together. Try again."


class TooOften(Exception):
    """Too many wrong tries; carries how many seconds to wait."""

    def __init__(self, seconds: int) -> None:
        super().__init__(f"wait {seconds} seconds")
        self.seconds = seconds


class WrongSecret(Invalid):
    """A passphrase asked for again was wrong: counted like a wrong try at sign-in, once nothing is stored."""

    def __init__(self, who: str, place: str) -> None:
        super().__init__({"confirm": "Type your own passphrase: this change asks for it again."})
        self.who = who
        self.place = place


class WaitFirst(Invalid):
    """Too many wrong tries at a passphrase asked for again; what was typed in the form stays."""

    status = 429

    def __init__(self, seconds: int) -> None:
        super().__init__({"confirm": f"Too many wrong tries. Wait {seconds} seconds, then send this again."})


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
    passphrase = unicodedata.normalize("NFC", passphrase)
    if not PASSPHRASE_LEAST <= len(passphrase) <= PASSPHRASE_MOST:
        return f"Use {PASSPHRASE_LEAST} to {PASSPHRASE_MOST} characters, for example four or five words."
    if _guessed_first(passphrase, shop_name):
        return "This passphrase is guessed too easily. Choose other words."
    return None


def _guessed_first(passphrase: str, shop_name: str) -> bool:
    bare = _bare(passphrase)
    if len(set(bare)) < LEAST_LETTERS or any(bare in walk * 10 or bare[::-1] in walk * 10 for walk in WALKS):
        return True
    rest = bare
    for word in (*COMMON, _bare(shop_name), *(_bare(word) for word in shop_name.split())):
        if word:
            rest = rest.replace(word, "")
    letters = "".join(letter for letter in rest if not letter.isdecimal())
    return len(letters) < LEAST_REST and rest != bare


def _bare(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def place_of(device_id: int | None, address: str = "") -> str:
    """Return under which name wrong tries are counted: the paired device, else where the network saw it."""
    return f"device:{device_id}" if device_id is not None else f"unpaired:{address}"


def wait_left(house: House, who: str, place: str, now: datetime) -> int:
    """Return how many seconds this person on this device must wait before the next try (0: none)."""
    with house.store.reading() as session:
        mine = visits.wrong_tries(session, who=who.casefold(), device=place, since=now - TRIES_WINDOW)
    over = len(mine) - FREE_TRIES
    if over < 0:
        return 0
    wait = min(FIRST_WAIT * 2 ** min(over, FREE_TRIES), LONGEST_WAIT) - (now - mine[-1])
    return max(0, int(wait.total_seconds() + 0.999))


def count_wrong(house: House, who: str, place: str, now: datetime) -> None:
    """Count a wrong try; a person's PIN ends with the hundredth in a row, wherever they were made."""
    with house.store.writing() as session:
        session.add(WrongTryRow(who=who.casefold(), device=place, at=now))
    with house.store.reading() as session:
        person = visits.person_named(session, who)
        if person is None or not person.pin_hash:
            return
        since = visits.last_sign_in(session, person.id or 0)
        tries = len(visits.wrong_tries(session, who=who.casefold(), since=since))
    if tries >= ROW_TRIES:
        with acting(house, PROGRAM, "end_pin") as act:
            act.reason = f"{ROW_TRIES} wrong tries in a row"
            act.edit(act.get(PersonRow, person.id), None, {"pin_hash": ""}, {})


def check(
    house: House, name: str, secret: str, device: DeviceRow | None, now: datetime, address: str = ""
) -> tuple[PersonRow, str]:
    """Return the person and the kind of proof ("pin" or "passphrase"); raises TooOften or Invalid.

    A PIN counts only on a paired device. Unknown names and wrong secrets answer alike.
    """
    place = place_of(device.id if device else None, address)
    if wait := wait_left(house, name, place, now):
        raise TooOften(wait)
    by_pin = device is not None and len(secret) == PIN_DIGITS and secret.isdecimal()
    with house.store.reading() as session:
        person = visits.person_named(session, name)
        tries = len(visits.wrong_tries(session, device=place, since=now - TRIES_WINDOW)) if by_pin else 0
    if tries >= DEVICE_TRIES:
        raise Invalid({"secret": NO_PIN_HERE})
    stored = "" if person is None else (person.pin_hash if by_pin else person.passphrase_hash)
    if matches(house, stored, secret) and person is not None:
        return person, "pin" if by_pin else "passphrase"
    count_wrong(house, name, place, now)
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


def begin_guest(act: Act, guest_id: int, device_id: int | None, proof: str = visits.HANDED_OVER) -> str:
    """Start a visit locked to one guest, on a handed-over tablet or the guest's own phone.

    Returns the cookie's token.
    """
    visit = VisitRow(
        token_hash="",
        kind="guest",
        guest_id=guest_id,
        device_id=device_id,
        proof=proof,
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
