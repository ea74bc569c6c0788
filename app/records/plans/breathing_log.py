"""What the shop's own dives teach of breathing rates, held in the process and kept up with the records.

The belief is the prior updated by every dive of a guest, and every earlier dive from paper, in order of
time. It is worked out whole once; afterwards the trail says which records changed, and only what comes
after the first changed dive is learned again: a page pays for the dives logged since the last page.
"""

import json
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from threading import Lock
from typing import Any

from sqlmodel import Session, col, func, select

from app.planning.breathing import REFERENCE_MASS_KG, REFERENCE_WATER_C, Belief, Rates, learn, predict, prior
from app.planning.first_rates import STAFF_MIDDLE_L_MIN, staff_rates
from app.records.plans.logged_dives import Entry, closed_dives, earlier_dives, usual_water_c
from app.records.setup.shop import limits_now
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import TrailRow
from app.records.tables.parties import SlotRow
from app.records.tables.water import PressureRow
from app.records.welcome.same_person import everybody_linked
from app.rules import limits as L
from app.rules.resolve import Limits

# A person's newest dives say enough of that person.
OWN_MOST = 12
# More changed members than this are read quicker all at once.
MEMBERS_MOST = 500
_USED = (L.BREATHING_RATE_LOWEST, L.BREATHING_RATE_HIGHEST, L.LOGGED_MINUTES_LEAST)
# Records that belong to one member, and the columns of others that a logged dive is made from.
_OF_MEMBER = {"pressure", "water_event", "cylinder_out"}
_COLUMNS = {
    "dive_group": {"closed_at", "greatest_depth_m", "depth_m", "stop_done"},
    "guest": {"mass_kg", "birth_date"},
    "cylinder": {"litres"},
    "site": {"usual_temp_c"},
}
_PAPER = {"earlier_dive", "earlier_taken_back"}
_LINK = "guest_link"
NOBODY = ("", 0)


@dataclass(frozen=True)
class Learned:
    """What is believed now. usual_c: the shop's usual open water in °C.

    own: settled rates in L/min of each one's own newest dives, oldest first. linked: the other rows of the
    same person, by guest.

    Keys of own: ("guest", number) and ("staff", number).
    """

    belief: Belief
    own: Mapping[tuple[str, int], tuple[float, ...]]
    usual_c: float | None = None
    linked: Mapping[int, frozenset[int]] = field(default_factory=dict)

    def guest(
        self,
        guest_id: int | None,
        mass_kg: float,
        age: float | None = None,
        water_temp_c: float | None = None,
    ) -> Rates:
        """Return what to expect of a guest: body mass in kg, age in years, water in C, and own dives."""
        own = self._own_rates(guest_id)
        return predict(self.belief, mass_kg, own, age=age, water_temp_c=colder(water_temp_c, self.usual_c))

    def own_dives(self, guest_id: int | None) -> int:
        """Return how many dives of this very person, on whatever visit, say what to expect."""
        return len(self._own_rates(guest_id))

    def _own_rates(self, guest_id: int | None) -> tuple[float, ...]:
        rows = sorted(self.linked.get(guest_id or 0, frozenset()) | {guest_id or 0})
        # A later row is a later visit.
        return tuple(rate for row in rows for rate in self.own.get(("guest", row), ()))[-OWN_MOST:]

    def guide(self, person_id: int | None, on_file_l_min: float | None) -> Rates:
        """Return what to expect of a guide: the own rate on file, else own dives, else guides in general."""
        own = self.own.get(("staff", person_id or 0), ())
        if on_file_l_min is not None or not own:
            return staff_rates(on_file_l_min)
        return predict(prior(STAFF_MIDDLE_L_MIN), REFERENCE_MASS_KG, own)


@dataclass(frozen=True)
class Lesson:
    """One dive that taught, with what was believed just before it."""

    entry: Entry
    before: Belief


@dataclass
class BreathingLog:
    """The dives that teach, in order of time, and the belief after each. One for each open data folder."""

    _lock: Lock = field(default_factory=Lock)
    _seen: int = -1
    _usual_c: float | None = None
    _under: tuple[Any, ...] = ()
    _entries: dict[tuple[str, int], Entry] = field(default_factory=dict)
    _lessons: list[Entry] = field(default_factory=list)
    _beliefs: list[Belief] = field(default_factory=lambda: [prior()])
    _own: dict[tuple[str, int], dict[tuple[str, int], Entry]] = field(default_factory=dict)
    _rates: dict[tuple[str, int], tuple[float, ...]] = field(default_factory=dict)
    _linked: dict[int, frozenset[int]] = field(default_factory=dict)
    _learned: Learned = field(default_factory=lambda: Learned(prior(), {}))

    def now(self, session: Session) -> Learned:
        """Return what is believed by this session's records. Ask before an act writes, not after."""
        with self._lock:
            self._keep_up(session)
            return self._learned

    def lessons(self, session: Session, since: datetime) -> list[Lesson]:
        """Return the dives since a moment that taught, oldest first, each with the belief before it."""
        with self._lock:
            self._keep_up(session)
            first = bisect_left(self._lessons, since, key=lambda one: one.at)
            return [Lesson(self._lessons[n], self._beliefs[n]) for n in range(first, len(self._lessons))]

    def entries(self, session: Session, since: datetime) -> list[Entry]:
        """Return every dive of the log since a moment, staff's and those left out too, oldest first."""
        with self._lock:
            self._keep_up(session)
            return sorted(
                (one for one in self._entries.values() if one.at >= since), key=lambda one: one.place
            )

    def earlier(self, session: Session) -> int:
        """Return how many of the dives that taught came from paper."""
        with self._lock:
            self._keep_up(session)
            return sum(one.key[0] == "earlier" for one in self._lessons)

    def _keep_up(self, session: Session) -> None:
        limits = limits_now(session)
        self._usual_c = usual_water_c(session)
        under = (self._usual_c, *(limits[one].value for one in _USED))
        head = session.exec(select(func.max(TrailRow.id))).one() or 0
        if self._seen < 0 or under != self._under:
            self._lessons, self._beliefs = [], [prior()]
            self._linked = everybody_linked(session)
            self._learned = Learned(prior(), self._rates, self._usual_c, self._linked)
            self._entries, self._own, self._rates = {}, {}, {}
            self._put(set(self._entries), [*closed_dives(session, limits), *earlier_dives(session, limits)])
        elif head > self._seen:
            self._catch_up(session, limits)
        self._seen, self._under = max(head, self._seen), under

    def _catch_up(self, session: Session, limits: Limits) -> None:
        rows = session.exec(select(TrailRow.changes).where(col(TrailRow.id) > self._seen))
        changes = [one for row in rows for one in json.loads(row)]
        members, paper = _touched(session, changes)
        if any(record == _LINK for record, _, _ in changes):
            self._linked = everybody_linked(session)
            self._learned = replace(self._learned, linked=self._linked)
        keys: set[tuple[str, int]] = {("dive", member) for member in members}
        fresh: list[Entry] = []
        if len(members) > MEMBERS_MOST:
            keys = {key for key in self._entries if key[0] == "dive"}
            fresh += closed_dives(session, limits)
        elif members:
            fresh += closed_dives(session, limits, members)
        if paper:
            keys |= {key for key in self._entries if key[0] == "earlier"}
            fresh += earlier_dives(session, limits)
        self._put(keys, fresh)

    def _put(self, keys: set[tuple[str, int]], fresh: list[Entry]) -> None:
        """Put ``fresh`` in place of what stands under ``keys``; learn on from the first difference."""
        now = {one.key: one for one in fresh}
        differ = [key for key in keys | now.keys() if self._entries.get(key) != now.get(key)]
        if not differ:
            return
        both = [one for key in differ for one in (self._entries.get(key), now.get(key)) if one is not None]
        for one in both:
            self._own.setdefault(_owner(one), {}).pop(one.key, None)
        for key in differ:
            self._entries.pop(key, None)
            if key in now:
                self._entries[key] = now[key]
                self._own.setdefault(_owner(now[key]), {})[key] = now[key]
        first = bisect_left(self._lessons, min(one.place for one in both), key=lambda one: one.place)
        gone = set(differ)
        later = [one for one in self._lessons[first:] if one.key not in gone]
        later += [now[key] for key in differ if key in now and now[key].teaches]
        del self._beliefs[first + 1 :]
        self._lessons[first:] = sorted(later, key=lambda one: one.place)
        for one in self._lessons[first:]:
            water = colder(one.dive.water_temp_c, self._usual_c)
            self._beliefs.append(learn(self._beliefs[-1], replace(one.dive, water_temp_c=water)))
        for owner in {_owner(one) for one in both} - {NOBODY}:
            dives = sorted(self._own[owner].values(), key=lambda one: one.place)
            rates = [one.rate_l_min for one in dives if one.rate_l_min is not None]
            self._rates[owner] = tuple(rates[-OWN_MOST:])
        self._learned = Learned(self._beliefs[-1], dict(self._rates), self._usual_c, self._linked)


def colder(water_temp_c: float | None, usual_c: float | None) -> float | None:
    """Return the water as rates are learned by it: as far from the reference as it is from the usual one.

    What is believed before the first dive is meant for the shop's usual water, however cold that is. A dive
    in colder or warmer water than that teaches what cold does, and dives without a temperature were in it.
    """
    if water_temp_c is None or usual_c is None:
        return None
    return REFERENCE_WATER_C + water_temp_c - usual_c


def _owner(entry: Entry) -> tuple[str, int]:
    if entry.person_id is not None:
        return "staff", entry.person_id
    return NOBODY if entry.guest_id is None else ("guest", entry.guest_id)


def _touched(session: Session, changes: Iterable[tuple[str, str, dict[str, Any]]]) -> tuple[set[int], bool]:
    """Return the members whose dives a list of changed records may have changed, and whether paper did."""
    members: set[int] = set()
    several: dict[str, set[int]] = {record: set() for record in (*_COLUMNS, "slot")}
    paper = False
    for record, number, columns in changes:
        if record in _OF_MEMBER and "member_id" in columns:
            members.add(columns["member_id"][1])
        elif record == "conditions" and "water_temp_c" in columns and "slot_id" in columns:
            several["slot"].add(columns["slot_id"][1])
        elif record in _COLUMNS and not _COLUMNS[record].isdisjoint(columns):
            several[record].add(int(number))
        paper = paper or record in _PAPER
    of_groups = select(MemberRow.id).join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
    of_slots = of_groups.join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
    for record, asked, column in (
        ("dive_group", select(MemberRow.id), col(MemberRow.group_id)),
        ("slot", of_groups, col(GroupRow.slot_id)),
        ("site", of_slots, col(SlotRow.site_id)),
        ("guest", select(MemberRow.id), col(MemberRow.guest_id)),
        ("cylinder", select(PressureRow.member_id), col(PressureRow.cylinder_id)),
    ):
        if several[record]:
            found = session.exec(asked.where(column.in_(several[record])))
            members.update(number for number in found if number is not None)
    return members, paper
