"""A group at Long Jetty with everything in order before the water, and its way in and out through HTTP."""

import shutil
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from sqlmodel import col, select

from app.actions.act import Actor, acting
from app.actions.groups.other_dives import say_no_other_dive
from app.actions.groups.plans import issue_plan
from app.actions.health.shore_look import all_in_order
from app.actions.water_side.emergency_kit import KitAnswers, check_emergency_kit
from app.actions.water_side.getting_ready import answer_briefing, check_kit, sign_skills
from app.actions.water_side.pressures import read_pressures
from app.planning.units import AsRead
from app.records.groups.facts import staff_key
from app.records.groups.groups import group_view
from app.records.plans.plans import draft_plan
from app.records.store.house import open_house
from app.records.tables.groups import GroupRow
from app.records.tables.people import PersonRow
from app.records.tables.water import WaterEventRow
from app.records.water_side.entry import entry
from app.records.water_side.water import in_the_water
from app.rules import briefing
from app.rules.emergency_kit import KEYS
from app.rules.sign_off import SKILLS, Mark
from app.settings.config import Settings
from tests.groups_world import book, give_cylinders, group_of, look_at_water, members_of, person_id
from tests.health_world import screened
from tests.web_world import (
    START,
    Browser,
    Page,
    TestClock,
    World,
    build_quickly,
    fresh_database,
    make_world,
)

GUIDE = "Ines Instructor"
START_BAR = 200.0
# Beside the kept folder: the address of its database, where it does not lie in the folder.
DATABASE_NOTE = "database-url"
# The slot at the training pool.
POOL = 3


@dataclass
class Ready:
    """A group, who is in it by name, and its guide's phone."""

    world: World
    group_id: int
    members: dict[str, int]
    guests: dict[str, int]
    phone: Browser

    def at(self, step: str = "") -> str:
        """Return the address of a step of the group."""
        return f"/water/{self.group_id}{step}"

    def page(self, step: str = "", browser: Browser | None = None) -> Page:
        """Open a step of the group."""
        return (browser or self.phone).open(self.at(step))

    def go_in(self, page: Page | None = None, stays: tuple[str, ...] = (), **other: str) -> Page:
        """Send the roll call out: everybody goes in but who stays."""
        choices = {f"member_{n}": "stays" if name in stays else "in" for name, n in self.members.items()}
        heads = str(len(self.members) - len(stays))
        return (page or self.page("/out")).send("go_in", **{"heads": heads, **choices, **other})

    def back(self, name: str, browser: Browser | None = None) -> Page:
        """Mark one person as back."""
        return self.page("/back", browser).send("mark_back", self.at(f"/back/{self.members[name]}"))

    def count(self, number: int, browser: Browser | None = None) -> Page:
        """Type a head count."""
        return self.page("/back", browser).send("count_heads", counted=str(number))

    def everybody_out(self) -> Page:
        """Go in, come back eighteen minutes later, and count."""
        assert self.go_in().status == 200
        self.world.clock.pass_minutes(18)
        for name in self.members:
            self.back(name)
        return self.count(len(self.members))

    def end_pressures(self, **bars: float) -> Page:
        """Read end pressures: 100 bar for everybody not named."""
        said = {f"bar_{number}": f"{bars.get(name, 100):g}" for name, number in self.members.items()}
        return self.page("/wrap").send("read_pressures", moment="end", **said)

    def write_dive(self, page: Page | None = None, **other: str) -> Page:
        """Write that the dive went as planned."""
        said = {"depth": "7.5", "ascent": "slower", "stop": "yes", "anything": "nothing", **other}
        return (page or self.page("/wrap")).send("write_dive", **said)

    def close(self) -> Page:
        """Close the dive."""
        return self.page("/wrap").send("close_dive")

    def whole_dive(self, **bars: float) -> Page:
        """Go in, come back, write everything down, and close the dive."""
        self.everybody_out()
        self.end_pressures(**bars)
        self.write_dive()
        return self.close()

    def in_water(self) -> set[str]:
        """Return the names of everybody of the shop who is in the water."""
        with self.world.house.store.reading() as session:
            return {one.name for one in in_the_water(session)}

    def events(self) -> list[WaterEventRow]:
        """Return every water event of the group, in the order of arrival."""
        with self.world.house.store.reading() as session:
            asked = select(WaterEventRow).where(WaterEventRow.group_id == self.group_id)
            return list(session.exec(asked.order_by(col(WaterEventRow.id))))

    def group(self) -> GroupRow:
        """Return the group's row as it is now."""
        with self.world.house.store.reading() as session:
            return group_view(session, self.group_id).group


def kept_ready(folder: Path) -> Path:
    """Make a shop with a group that may go in, once, and close it; tests work on copies of its folder."""
    world = make_world(folder)
    ready_group(world)
    world.house.close()
    (folder / DATABASE_NOTE).write_text(world.house.settings.database_url or "")
    return folder / "data"


def reopened(kept: Path, folder: Path) -> Ready:
    """Open a copy of the kept shop, a minute after it was made ready."""
    shutil.copytree(kept, folder / "data")
    clock = TestClock(START + timedelta(minutes=1))
    database_url = fresh_database((kept.parent / DATABASE_NOTE).read_text())
    house = open_house(Settings(data=folder / "data", database_url=database_url), clock)
    world = World(house, clock, build_quickly(house))
    with house.store.reading() as session:
        members = group_view(session, 1).members
    numbers = {one.name: one.row.id or 0 for one in members}
    guests = {one.name: one.guest.id or 0 for one in members if one.guest is not None}
    return Ready(world, 1, numbers, guests, world.browser(GUIDE))


def actor(world: World, name: str = GUIDE) -> Actor:
    """Return somebody of the team as an action knows them."""
    with world.house.store.reading() as session:
        row = session.exec(select(PersonRow).where(PersonRow.name == name)).one()
        return Actor(row.name, row.role_set(), row.id)


def ready_group(
    world: World, *names: str, name: str = "A", guide: str = GUIDE, slot_id: int = 1, depth_m: float = 8
) -> Ready:
    """Make a group that may go in, with the guests named (Ann and Bo), through the shop's own actions.

    depth_m: how deep it plans; the plan of a group in the pool (slot 3) is not issued, as none is asked for.
    """
    called = names or ("Ann", "Bo")
    ids = book(world, *called, slot_id=slot_id)
    for guest in ids:
        screened(world, guest)
    group_id = group_of(world, ids, guide=guide, name=name, slot_id=slot_id)
    give_cylinders(world, group_id)
    look_at_water(world, slot_id)
    watch = person_id(world, "Lena Lead")
    with world.act() as act:
        act.edit(act.get(GroupRow, group_id), None, {"surface_watch_id": watch, "depth_m": depth_m}, {})
    by = actor(world, guide)
    with acting(world.house, by, "check_emergency_kit") as act:
        check_emergency_kit(act, KitAnswers(KEYS, 150, 5))
    with acting(world.house, by, "say_no_other_dive") as act:
        say_no_other_dive(act, person_id(world, guide))
    if slot_id != POOL:
        plan_again(world, group_id, by)
    with world.house.store.reading() as session:
        found = entry(session, world.house, group_id, world.clock())
    said = {
        item.key: item.states[0] if item.limit is None else f"{found.limits[item.limit].number:g}"
        for item in briefing.BRIEFING
    }
    with acting(world.house, by, "made_for_a_test") as act:
        answer_briefing(act, group_id, said)
        checks = {(one.id, item.key): item.states[0] for one in found.divers for item in briefing.KIT_CHECK}
        check_kit(act, group_id, checks, staff_key(watch))
        all_in_order(act, group_id)
        sign_skills(act, group_id, {(guest, skill): Mark.SHOWN for guest in ids for skill in SKILLS})
        read_pressures(
            act, group_id, "start", dict.fromkeys((one.id for one in found.divers), AsRead.as_kept(START_BAR))
        )
    members = members_of(world, group_id)
    return Ready(world, group_id, members, dict(zip(called, ids, strict=True)), world.browser(guide))


def plan_again(world: World, group_id: int, by: Actor | None = None) -> None:
    """Issue the plan as it comes out now."""
    with world.house.store.reading() as session:
        seen = draft_plan(session, world.house, group_id, world.clock()).fingerprint
    with acting(world.house, by or actor(world), "issue_plan") as act:
        issue_plan(act, group_id, seen, acknowledged=True)
