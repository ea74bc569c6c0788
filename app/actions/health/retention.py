"""Keeping and erasing health records: what moves on is stored, keys are destroyed, plain columns cleared.

What stays of an erased guest is a stub (random reference, day, outcome word, version of the questions) and
the shop's records of the dive itself under "a guest" with the reference. Age in years, and height and
weight in tens, stay with the dive because its limits, gas and lead were worked out from them.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from sqlmodel import Session, col, select

from app.actions.act import PROGRAM, Act, Actor, acting
from app.records.health import retention as kept_records
from app.records.health.health import standing
from app.records.health.health_forms import owner
from app.records.health.keeper import last_tidy
from app.records.health.retention import Record, keeping_now
from app.records.setup.shop import the_shop
from app.records.store.house import House
from app.records.tables.health import HealthFormRow
from app.records.tables.parties import GuestRow, PartyRow, name_once_erased
from app.records.tables.privacy import StageRow, TidyRow
from app.records.welcome.bookings import party_view
from app.rules.ages import age_on
from app.rules.retention import Stage, keep_until

# Why a record moved on.
DAY_OVER, TIME_OVER, NO_DIVE, ASKED, RESTORED = "day over", "time over", "no dive", "asked", "restored"
# Records that one act moves on: the shop writes in between.
AT_ONCE = 50
TENS = 10
# Nobody closes a shop for longer without somebody looking at its computer's date first.
LONG_AGO = timedelta(days=60)


@dataclass(frozen=True)
class Tidied:
    """What one run did: counts alone. emptied: whether the write-ahead log could be emptied as well.

    waiting: records that a run by itself did not erase, because the last run was too long ago.
    """

    live: int
    sealed: int
    erased: int
    newly_sealed: int
    newly_erased: int
    held: int
    keys_destroyed: int
    repeated: int
    emptied: bool = True
    waiting: int = 0

    @property
    def words(self) -> str:
        """The run in one line, without a person in it."""
        said = (
            f"{self.newly_sealed} sealed, {self.newly_erased} erased, {self.keys_destroyed} keys destroyed. "
            f"Now {self.live} live, {self.sealed} sealed, {self.erased} erased; {self.held} held."
        )
        if self.waiting:
            said += (
                f" {self.waiting} wait: the last run was long ago. Look at the computer's date, "
                "then seal and erase under Health records."
            )
        return said if self.emptied else f"{said} The database's own log is emptied at the next run."


def keep_and_erase(
    house: House, say: Callable[[str], None] | None = None, by: Actor = PROGRAM, *, asked: bool = False
) -> Tidied:
    """Move every record to where it belongs today, in small acts; destroy keys; leave counts behind.

    say: is told what it is at, and may raise to stop it: what was done until then stays done. asked: a
    person asked for it. By itself it erases nothing when its last run is long ago: a clock that jumped
    ahead would erase for good what may be kept.
    """
    tell = say or (lambda _: None)
    repeated = repeat_erasures(house)
    with house.store.reading() as session:
        today = the_shop(session).day_of(house.clock())
        moving = [one for one in kept_records.records(session, today) if one.moves]
        last = last_tidy(session)
    due = len(moving)
    if not asked and last is not None and house.clock() - last.at > LONG_AGO:
        moving = [one for one in moving if one.belongs is not Stage.ERASED]
    for first in range(0, len(moving), AT_ONCE):
        tell(f"{first} of {len(moving)} records")
        with acting(house, by, "keep_and_erase") as act:
            move_on(act, [one.guest_id for one in moving[first : first + AT_ONCE]])
    destroyed = destroy_keys(house)
    emptied = house.store.wipe_log()
    with acting(house, by, "keep_and_erase") as act:
        now, held = kept_records.counts(act.session, today), len(kept_records.holds_now(act.session))
        moved: Counter[Stage] = Counter(one.belongs for one in moving)
        done = Tidied(
            live=now[Stage.LIVE],
            sealed=now[Stage.SEALED],
            erased=now[Stage.ERASED],
            newly_sealed=moved[Stage.SEALED],
            newly_erased=moved[Stage.ERASED],
            held=held,
            keys_destroyed=destroyed,
            repeated=repeated,
            emptied=emptied,
            waiting=due - len(moving),
        )
        act.add(
            TidyRow(
                live=done.live, sealed=done.sealed, erased=done.erased, newly_sealed=done.newly_sealed,
                newly_erased=done.newly_erased, held=held, keys_destroyed=destroyed, repeated=repeated,
                by=by.name, at=act.now,
            )
        )  # fmt: skip
    return done


def move_on(act: Act, guest_ids: Sequence[int], why: str = "") -> None:
    """Move some guests' records to where they belong now, as the records say inside this act."""
    today = the_shop(act.session).day_of(act.now)
    found = [one for one in kept_records.records(act.session, today, guest_ids) if one.moves]
    _move(act, found, why)


def destroy_keys(house: House) -> int:
    """Destroy the key of everybody who is erased and still has one; return how many."""
    with house.store.reading() as session:
        gone = [*(owner(ref) for ref in sorted(kept_records.erased_refs(session))), *_parties(session)]
    # The list comes first: a kill in between leaves a key that the next run destroys.
    house.erasures.add(gone)
    return _destroy(house, gone)


def finish(house: House) -> None:
    """Destroy the keys of whoever was erased by the act that has just been committed, and empty the log."""
    if destroy_keys(house):
        house.store.wipe_log()


def repeat_erasures(house: House) -> int:
    """Erase again whoever is on the folder's list and is in the records: older records were put back.

    Returns how many guests were erased again. To be called at every start, before anybody is let in.
    """
    listed = house.erasures.owners()
    if not listed:
        return 0
    with house.store.reading() as session:
        done = kept_records.erased_refs(session)
        refs = {one.removeprefix(owner("")) for one in listed if one.startswith(owner(""))}
        waiting = _guests(session, sorted(refs - done))
    for first in range(0, len(waiting), AT_ONCE):
        with acting(house, PROGRAM, "erase_again") as act:
            act.reason = "erased before these records were put back"
            some = waiting[first : first + AT_ONCE]
            today = the_shop(act.session).day_of(act.now)
            found = kept_records.records(act.session, today, some)
            _move(act, [replace(one, belongs=Stage.ERASED) for one in found], RESTORED)
    if _destroy(house, listed) or waiting:
        house.store.wipe_log()
    return len(waiting)


def _destroy(house: House, owners: Iterable[str]) -> int:
    alive = house.ring.owners().intersection(owners)
    if alive:
        house.ring.destroy_all(sorted(alive))
    return len(alive)


def _move(act: Act, found: Sequence[Record], why: str) -> None:
    """Store where these records are now, with what stays of them; clear those that are erased."""
    keeping = keeping_now(act.session)
    before = kept_records.stubs(act.session, [one.ref for one in found])
    for day, some in groupby(found, key=lambda one: one.kept.day):
        those = list(some)
        guests = {one.guest_id: act.get(GuestRow, one.guest_id) for one in those}
        fresh = [guests[one.guest_id] for one in those if one.ref not in before]
        stands = standing(act.session, act.house, fresh, day)
        for one in those:
            stub = before.get(one.ref)
            usual = DAY_OVER if one.belongs is Stage.SEALED else (TIME_OVER if one.kept.dived else NO_DIVE)
            act.add(
                StageRow(
                    guest_ref=one.ref,
                    stage=str(one.belongs),
                    why=why or usual,
                    day=day,
                    dived=one.kept.dived,
                    outcome=stub.outcome if stub else stands[one.guest_id].outcome or "",
                    rule_version=stub.rule_version if stub else _version(act, one.ref),
                    keep_until=keep_until(one.kept, keeping) if one.belongs is Stage.SEALED else None,
                    at=act.now,
                )
            )
            if one.belongs is Stage.ERASED:
                _clear(act, guests[one.guest_id], day)


def _version(act: Act, ref: str) -> str:
    asked = select(HealthFormRow).where(HealthFormRow.guest_ref == ref).order_by(col(HealthFormRow.id).desc())
    newest = act.session.exec(asked).first()
    return "" if newest is None else newest.question_version


def _clear(act: Act, guest: GuestRow, day: date) -> None:
    """Empty every column that tells who a guest is; what was sealed is unreadable once the key is gone."""
    for form in act.session.exec(select(HealthFormRow).where(HealthFormRow.guest_ref == guest.ref)):
        act.edit(form, None, dict.fromkeys(HealthFormRow.secret, ""), {})
    name, party = guest.full_name, act.get(PartyRow, guest.party_id)
    values = {
        "full_name": name_once_erased(guest.ref),
        "call_name": name_once_erased(guest.ref),
        # The day of the dive, as many years before as the guest was old.
        "birth_date": _years_before(day, age_on(guest.birth_date, day)),
        "height_cm": _tens(guest.height_cm),
        "mass_kg": _tens(guest.mass_kg),
        "shoe_size": 0,
        "languages": "",
        "swimming": "",
        "flight_told": "",
        "flight_at": None,
    }
    act.edit(guest, None, values, {})
    others = [one.ref for one in party_view(act.session, guest.party_id).guests if one.id != guest.id]
    stages = kept_records.stubs(act.session, others)
    alone = all(ref in stages and stages[ref].stage == str(Stage.ERASED) for ref in others)
    # The contact is as a rule one of the guests; the others then keep their places without one.
    if alone or _same(party.contact_name, name):
        gone = dict.fromkeys(PartyRow.personal, "") | {"contact_name": name_once_erased(party.ref)}
        act.edit(party, None, gone, {})


def _parties(session: Session) -> list[str]:
    """Return whose keys go with an erased contact."""
    asked = select(PartyRow.ref, PartyRow.contact_name).where(
        col(PartyRow.contact_name).startswith(name_once_erased(""), autoescape=True)
    )
    return [f"party:{ref}" for ref, name in session.exec(asked) if name == name_once_erased(ref)]


def _guests(session: Session, refs: Sequence[str]) -> list[int]:
    found: list[int] = []
    for first in range(0, len(refs), kept_records.AT_ONCE):
        some = refs[first : first + kept_records.AT_ONCE]
        asked = select(GuestRow.id).where(col(GuestRow.ref).in_(some))
        found += [number for number in session.exec(asked) if number is not None]
    return found


def _same(one: str, other: str) -> bool:
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def _tens(number: float) -> float:
    return max(round(number / TENS), 1) * TENS


def _years_before(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=day.day - 1)
