"""The team and its devices: adding people, their roles and papers, secrets, pairing."""

import secrets
from datetime import date, datetime, timedelta

from app.actions.act import Act, Invalid, Refused
from app.actions.setup.sign_in import (
    WaitFirst,
    WrongSecret,
    deal_pin,
    hash_secret,
    judge_passphrase,
    matches,
    place_of,
    wait_left,
)
from app.records.setup import shop, visits
from app.records.tables.people import DeviceRow, PersonRow, VisitRow
from app.rules.decision import Reason, refuse

# How long a typed passphrase stands for acts that need it anew.
CONFIRMED_FOR = timedelta(minutes=10)
LABELS = {
    "name": "Name",
    "roles": "Roles",
    "languages": "Languages",
    "active": "Works here",
    "grade": "Teaching grade",
    "credential_until": "Teaching papers until",
    "first_aid_until": "First aid and oxygen until",
    "diver_medical_until": "Dive medical until",
    "depth_cap_m": "Own depth cap",
    "breathing_rate_l_min": "Breathing rate",
}


def freshly_confirmed(confirmed_at: datetime | None, now: datetime) -> bool:
    """Return whether the passphrase was typed in the last ten minutes."""
    return confirmed_at is not None and now - confirmed_at <= CONFIRMED_FOR


def confirm(act: Act, visit_id: int | None, confirmed_at: datetime | None, passphrase: str) -> None:
    """Ask for the actor's passphrase again unless it was typed a moment ago.

    Raises WrongSecret, which counts as a wrong try, or WaitFirst after too many.
    """
    if freshly_confirmed(confirmed_at, act.now):
        return
    place = place_of(act.actor.device_id)
    if wait := wait_left(act.house, act.actor.name, place, act.now):
        raise WaitFirst(wait)
    person = act.get(PersonRow, act.actor.person_id)
    if not matches(act.house, person.passphrase_hash, passphrase):
        raise WrongSecret(act.actor.name, place)
    visit = act.get(VisitRow, visit_id)
    visit.confirmed_at = act.now
    act.session.add(visit)


def add_person(act: Act, name: str, roles: list[str], passphrase: str) -> PersonRow:
    """Add a person with roles and a first passphrase; raises Invalid."""
    errors: dict[str, str] = {}
    if visits.person_named(act.session, name) is not None:
        errors["name"] = "Somebody with this name works here already. Add a second name or a letter."
    if not roles:
        errors["roles"] = "Choose at least one role."
    if (sentence := judge_passphrase(passphrase, shop.the_shop(act.session).name)) is not None:
        errors["passphrase"] = sentence
    if errors:
        raise Invalid(errors)
    return act.add(
        PersonRow(
            name=name, roles=" ".join(sorted(roles)), passphrase_hash=hash_secret(act.house, passphrase)
        )
    )


def change_person(
    act: Act, person_id: int, version: int, values: dict[str, str | float | date | bool | None]
) -> None:
    """Change a person's name, roles and papers; the last manager can not be taken away (raises Refused)."""
    person = act.get(PersonRow, person_id)
    stays = bool(values.get("active", True)) and "manager" in str(values.get("roles", "")).split()
    others = [p for p in visits.team(act.session) if p.id != person_id and "manager" in p.role_set()]
    if "manager" in person.role_set() and not stays and not others:
        raise Refused(
            refuse(
                Reason(
                    "may_set",
                    "The shop keeps at least one manager. Make somebody else manager first.",
                    "no other manager",
                    "one manager",
                )
            )
        )
    act.edit(person, version, values, LABELS)


def change_passphrase(act: Act, person_id: int, passphrase: str) -> None:
    """Give a person a new passphrase; raises Invalid when it is guessed too easily."""
    if (sentence := judge_passphrase(passphrase, shop.the_shop(act.session).name)) is not None:
        raise Invalid({"passphrase": sentence})
    person = act.get(PersonRow, person_id)
    act.edit(person, None, {"passphrase_hash": hash_secret(act.house, passphrase)}, {})


def new_pin(act: Act, person_id: int) -> str:
    """Deal a person a new PIN and return it; it is shown once and kept only as a hash."""
    pin = deal_pin()
    act.edit(act.get(PersonRow, person_id), None, {"pin_hash": hash_secret(act.house, pin)}, {})
    return pin


def pair_device(act: Act, name: str, kind: str) -> str:
    """Pair the device that asks; return the token of its cookie."""
    token = secrets.token_urlsafe(32)
    act.add(
        DeviceRow(
            name=name,
            kind=kind,
            token_hash=visits.token_hash(token),
            paired_at=act.now,
            paired_by=act.actor.name,
        )
    )
    return token


def end_device(act: Act, device_id: int) -> None:
    """End a device: its visits are refused at the next request."""
    act.edit(act.get(DeviceRow, device_id), None, {"ended_at": act.now}, {})
