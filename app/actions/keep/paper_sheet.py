"""Typing a sheet of paper in: the same actions as at the water, with the paper's times and its author's name.

Nothing is asked any more that had to be asked before the water: what the records do not show as passed is
noted as on paper, and never made up. Each record is tied to the sheet, with who typed it and when.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from app.actions.act import Act, Actor, Invalid, R
from app.actions.look_back import incidents
from app.actions.water_side import coming_out, dive_end, getting_ready, going_in, pressures
from app.planning.units import AsRead
from app.records.gas_room import cylinders, cylinders_out
from app.records.groups.groups import GroupView, group_view
from app.records.setup.shop import closed_day, the_shop
from app.records.tables.base import Row
from app.records.tables.groups import CylinderOutRow
from app.records.tables.paper import PaperRecordRow, PaperSheetRow
from app.records.tables.people import PersonRow
from app.records.tables.water import PressureRow, WaterEventRow
from app.records.water_side.entry import DiverView, divers_of, entry, run_minutes
from app.records.water_side.water import dive_times, newest_events
from app.rules.cylinders import may_give
from app.rules.dive_record import may_put_right
from app.rules.paper_sheet import PaperCount, PaperLine, count_problems, line_problems
from app.rules.readiness import may_enter_water
from app.rules.sign_off import Mark

TYPED = "typed in from paper"


@dataclass(frozen=True)
class Diver:
    """One person on the paper; None where it says nothing. cylinder: its painted number, "" for none."""

    member_id: int
    stays: bool
    went: datetime | None
    back: datetime | None
    cylinder: str
    start: AsRead | None
    turn: AsRead | None
    end: AsRead | None


@dataclass(frozen=True)
class HeadCount:
    """One head count on the paper. box: the form's field of the figure."""

    box: str
    heads: int
    counter_id: int
    at: datetime


@dataclass(frozen=True)
class Dive:
    """What the dive was like: depth in m, "slower" or "faster", the stop, and what happened."""

    depth_m: float
    ascent: str
    stop_done: bool | None
    happened: str


@dataclass(frozen=True)
class Happening:
    """Something that went wrong or nearly did, in the words of the incident form."""

    severity: str
    category: str
    what: str
    done: str


@dataclass(frozen=True)
class Sheet:
    """A whole sheet. author_id: who wrote it; skills: guest number -> skills shown, signed by signer_id."""

    author_id: int
    divers: tuple[Diver, ...]
    out: HeadCount | None = None
    back: tuple[HeadCount, ...] = ()
    signer_id: int | None = None
    skills: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    dive: Dive | None = None
    happening: Happening | None = None


@dataclass
class PaperAct(Act):
    """An act as it stood on the paper: its author's name and its time, each new row tied to the sheet."""

    typed_at: datetime | None = None
    kept: list[tuple[Row, datetime]] = field(default_factory=list)

    def add(self, row: R) -> R:
        """Store a row; a water event keeps when it arrived, and says that it comes from paper."""
        if isinstance(row, WaterEventRow):
            row.at = self.typed_at or self.now
            row.flag = ", ".join(part for part in (row.flag, TYPED) if part)
        found = super().add(row)
        self.kept.append((found, self.now))
        return found


def type_in(act: Act, group_id: int, sheet: Sheet) -> PaperSheetRow:
    """Write a sheet of paper down; raises Invalid beside each box that cannot be so, Refused, NotHere.

    Refused once the day is signed off. A person whose return the paper does not tell is in the water until
    the roll call says otherwise.
    """
    view = group_view(act.session, group_id)
    act.allow(may_put_right(closed_day(act.session, view.slot.day) is not None))
    divers = {one.id: one for one in divers_of(act.session, view.members)}
    _check(act, view, divers, sheet)
    return _Typing(act, view, sheet).write()


class _Typing:
    """One sheet on its way into the records."""

    def __init__(self, act: Act, view: GroupView, sheet: Sheet) -> None:
        self.act, self.view, self.sheet = act, view, sheet
        self.author = _actor(act, sheet.author_id)
        self.kept: list[tuple[Row, datetime]] = []
        times = [at for one in sheet.divers for at in (one.went, one.back) if at is not None]
        times += [one.at for one in (*sheet.back, *([sheet.out] if sheet.out else []))]
        self.first, self.last = min(times, default=act.now), max(times, default=act.now)
        self.gaps: set[str] = set()

    def write(self) -> PaperSheetRow:
        """Write every part in the order of the water, then the sheet and what came from it."""
        sheet = self.sheet
        for one in sheet.divers:
            self._cylinder(one)
        for one in sheet.divers:
            self._read(one, "start", one.start, one.went)
        if sheet.skills and sheet.signer_id is not None:
            marks = {(guest, skill): Mark.SHOWN for guest, shown in sheet.skills.items() for skill in shown}
            getting_ready.sign_skills(self._at(self.first, sheet.signer_id), self.view.id, marks)
        self._go_in()
        for one in sheet.divers:
            self._read(one, "turn", one.turn, one.back)
        for count in sorted(sheet.back, key=lambda one: one.at):
            coming_out.count_heads(self._at(count.at, count.counter_id), self.view.id, count.heads)
        for one in sorted((one for one in sheet.divers if one.back), key=lambda one: one.back or self.last):
            coming_out.mark_back(self._at(one.back or self.last), one.member_id, None)
        for one in sheet.divers:
            self._read(one, "end", one.end, one.back)
        self._dive()
        return self._sheet()

    def _at(self, at: datetime, person_id: int | None = None) -> PaperAct:
        who = self.author if person_id is None else _actor(self.act, person_id)
        act = self.act
        return PaperAct(
            act.session, act.house, who, at, notices=act.notices, typed_at=act.now, kept=self.kept
        )

    def _cylinder(self, one: Diver) -> None:
        """Give the cylinder out as the paper says; what would have stood against it is noted."""
        if not one.cylinder or cylinders_out.out_of_member(self.act.session, one.member_id) is not None:
            return
        row = cylinders.cylinder_numbered(self.act.session, one.cylinder)
        box = f"cylinder_{one.member_id}"
        if row is None:
            raise Invalid({box: f"The shop has no cylinder {one.cylinder}. Read the paper again."})
        facts = cylinders.facts_of(self.act.session, row.id or 0)
        if facts.out_with:
            text = f"Cylinder {facts.number} is with {facts.out_with}. Read the paper again, or take it back."
            raise Invalid({box: text})
        _, _, slot = cylinders_out.member_place(self.act.session, one.member_id)
        limits = cylinders_out.limits_at(self.act.session, slot.site)
        start, end = cylinders_out.times_of(slot, limits)
        asked = may_give(facts, limits, slot.slot.day, start, end, cylinders_out.where_of(slot.site))
        self.gaps |= asked.rules
        at = one.went or self.first
        self._at(at).add(
            CylinderOutRow(
                cylinder_id=row.id or 0, member_id=one.member_id, given_at=at, given_by=self.author.name
            )
        )

    def _read(self, one: Diver, moment: str, read: AsRead | None, at: datetime | None) -> None:
        if read is None:
            return
        kind = "during" if moment == "turn" else moment
        try:
            pressures.read_pressures(self._at(at or self.last), self.view.id, kind, {one.member_id: read})
        except Invalid as wrong:
            raise Invalid({f"{moment}_{one.member_id}": "; ".join(wrong.errors.values())}) from None

    def _go_in(self) -> None:
        """Write the roll call out, unless the records have it; open gates are noted."""
        if self.view.group.entered_at is not None:
            return
        act, going = self.act, [one for one in self.sheet.divers if not one.stays]
        at = min(one.went or self.first for one in going)
        found = entry(act.session, act.house, self.view.id, at, [one.member_id for one in going])
        self.gaps |= may_enter_water(found.facts, found.limits, at).rules
        times = {one.member_id: one.went or at for one in going}
        ashore = [one.member_id for one in self.sheet.divers if one.stays]
        count = self.sheet.out
        going_in.write_entry(
            self._at(at),
            self.view.id,
            times,
            ashore,
            at + timedelta(minutes=run_minutes(found.plan, self.view.group)),
        )
        if count is not None:
            going_in.count_out(self._at(count.at, count.counter_id), self.view.id, count.heads, len(going))

    def _dive(self) -> None:
        sheet, group_id = self.sheet, self.view.id
        if sheet.dive is not None:
            group = group_view(self.act.session, group_id).group
            told = sheet.dive
            dive_end.write_dive(
                self._at(self.last), group_id, group.version, told.depth_m, told.ascent, told.stop_done,
                told.happened, TYPED if group.closed_at is not None else "",
            )  # fmt: skip
        if sheet.happening is not None:
            what = sheet.happening
            incidents.write_incident(
                self._at(self.last), self.view.slot.day, self.last, what.severity, what.category, "",
                what.what, what.done, group_id,
            )  # fmt: skip

    def _sheet(self) -> PaperSheetRow:
        act, zone = self.act, the_shop(self.act.session).zone
        row = act.add(
            PaperSheetRow(
                group_id=self.view.id,
                author_id=self.sheet.author_id,
                author=self.author.name,
                typed_by_id=act.actor.person_id,
                typed_by=act.actor.name,
                typed_at=act.now,
                from_at=self.first,
                until_at=self.last,
                gaps=" ".join(sorted(self.gaps)),
            )
        )
        for made, at in self.kept:
            name, number = str(type(made).__tablename__), getattr(made, "id", None) or 0
            act.add(PaperRecordRow(sheet_id=row.id or 0, record=name, record_id=number, paper_at=at))
        act.about = ("dive_group", str(self.view.id))
        first, last = self.first.astimezone(zone), self.last.astimezone(zone)
        act.reason = (
            f"{TYPED}, written by {self.author.name}; its times {first:%Y-%m-%d %H:%M} to {last:%H:%M}"
        )
        return row


def _actor(act: Act, person_id: int) -> Actor:
    person = act.get(PersonRow, person_id)
    return Actor(person.name, person.role_set(), person.id, None, act.actor.device, act.actor.device_id)


def _check(act: Act, view: GroupView, divers: Mapping[int, DiverView], sheet: Sheet) -> None:
    """Raise Invalid for what cannot be so: times, pressures, counts unlike the names, nobody at all."""
    events = newest_events(act.session, [view.id])
    times = dive_times(act.session, divers)
    lines = []
    for one in sheet.divers:
        diver, known = divers[one.member_id], times.get(one.member_id)
        lines.append(
            PaperLine(
                one.member_id,
                diver.name,
                one.stays,
                one.went,
                one.back,
                _bar(one.start),
                _bar(one.turn),
                _bar(one.end),
                known.went if known is not None else None,
                _kept(diver.during) or _kept(diver.start),
                bool(one.cylinder) or diver.out is not None,
            )
        )
    wrong = line_problems(lines, act.now)
    entered = view.group.entered_at is not None
    went = [line for line in lines if not line.stays]
    if not went and not entered:
        wrong.setdefault("form", "Nobody went in by this paper. Write at least the guide's time in.")
    explained = sheet.happening is not None
    said = [] if sheet.out is None else [PaperCount(sheet.out.box, sheet.out.heads, len(went))]
    expected = sum(event.event != "never-entered" for event in events.values()) if entered else len(went)
    said += [PaperCount(one.box, one.heads, expected) for one in sheet.back]
    wrong |= count_problems(said, explained=explained)
    if wrong:
        raise Invalid(wrong)


def _bar(read: AsRead | None) -> float | None:
    return None if read is None else read.base


def _kept(row: PressureRow | None) -> float | None:
    return None if row is None else row.bar
