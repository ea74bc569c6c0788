"""What the invented people do every day, in one line each."""

from app.actions.gas_room import cylinders, fills
from app.actions.groups import groups, other_dives, plans
from app.actions.guest_side.guest_form import GuardianWords
from app.actions.health import shore_look
from app.actions.kit_rail import kit as kit_actions
from app.actions.water_side import coming_out, conditions, dive_end, getting_ready, going_in, pressures
from app.actions.water_side.emergency_kit import KitAnswers, check_emergency_kit
from app.planning.units import AsRead
from app.records.groups.facts import staff_key
from app.records.groups.groups import group_view
from app.records.kit_rail import kit, kit_offers
from app.records.plans.dive_history import said_today
from app.records.plans.plans import draft_plan
from app.records.water_side.entry import entry
from app.records.welcome import bookings
from app.rules import briefing
from app.rules.emergency_kit import KEYS
from app.rules.sign_off import SKILLS, Mark
from seed_demo import lead_and_gas
from seed_demo.bookings import PARTIES, Guest
from seed_demo.teller import ZONE, Teller


def fill(story: Teller, who: str, bars: dict[str, tuple[float, float]], temp_c: float) -> None:
    """Fill cylinders in one batch: number -> (from, to) in bar, at a gas temperature in °C."""
    with story.act(who, "fill_cylinders") as act:
        batch = {story.cylinders[n]: fills.Fill(start, end) for n, (start, end) in bars.items()}
        fills.fill_several(act, batch, fills.Air(temp_c, 20.9, 1.0))


def check_kit(story: Teller, who: str) -> None:
    """Look at the emergency kit: everything is there."""
    with story.act(who, "check_emergency_kit") as act:
        check_emergency_kit(act, KitAnswers(KEYS, 150, 5))


def look(story: Teller, who: str, slot: tuple[int, str], grade: str, visibility_m: float) -> None:
    """Look at the water of a slot."""
    with story.act(who, "look_at_water") as act:
        conditions.look_at_water(
            act, story.slots[slot], conditions.Look(grade, visibility_m, 0.1, "calm", 16.5)
        )


def guests_of(offset: int, clock: str) -> list[Guest]:
    """Return the invented guests of a slot who come."""
    return [g for p in PARTIES if (p.day, p.slot) == (offset, clock) and not p.end for g in p.guests]


def guardian_of(name: str) -> GuardianWords:
    """Return what an invented guardian says on the tablet."""
    return GuardianWords(name, "mother", "555 0124", "on site", True, name, True)


def group(
    story: Teller,
    slot: tuple[int, str],
    name: str,
    guide: str,
    guests: list[str],
    watch: str,
    depth_m: float,
    minutes: float,
) -> int:
    """Make a group and return its number."""
    with story.act("Odile Marsh", "make_group") as act:
        form = groups.GroupForm(
            name,
            story.people[guide].id or 0,
            surface_watch_id=story.people[watch].id,
            depth_m=depth_m,
            minutes=minutes,
        )
        return groups.make_group(act, story.slots[slot], form, [story.guests[one] for one in guests]).id or 0


def fit(story: Teller, names: list[str]) -> None:
    """Give guests the kit that the rail suggests for their sizes, and the lead that it suggests."""
    for name in names:
        with story.house.store.reading() as session:
            guest = bookings.guest(session, story.guests[name])
            slot = bookings.party_view(session, guest.party_id).slot
            lines = kit_offers.fittings(session, slot, story.now, kit.items(session))
            ready = next(one.ready for one in lines if one.guest.id == guest.id)
        with story.act("Odile Marsh", "give_kit") as act:
            kit_actions.give_kit(act, guest.id or 0, [one.row.id or 0 for one in ready])
        lead_and_gas.give_lead(story, guest.id or 0)


def hang_up(story: Teller, names: list[str]) -> None:
    """Take the kit of guests back onto the rail."""
    for name in names:
        with story.act("Odile Marsh", "take_back_all_kit") as act:
            kit_actions.take_back_all_kit(act, story.guests[name])


def give_cylinders(story: Teller, who: str, group_id: int, numbers: list[str]) -> None:
    """Give cylinders to the members of a group, the guide first."""
    with story.house.store.reading() as session:
        members = [one.row.id or 0 for one in group_view(session, group_id).members]
    for member, number in zip(members, numbers, strict=True):
        with story.act(who, "give_cylinder") as act:
            cylinders.give_cylinder(act, story.cylinders[number], member)


def plan(story: Teller, who: str, group_id: int) -> None:
    """Issue the plan of a group."""
    with story.house.store.reading() as session:
        seen = draft_plan(session, story.house, group_id, story.now)
    with story.act(who, "issue_plan") as act:
        plans.issue_plan(act, group_id, seen.fingerprint, acknowledged=bool(seen.acknowledge.reasons))


def say_other_dives(story: Teller, who: str) -> None:
    """Say once a day that there was no other dive."""
    key = story.people[who].id or 0
    with story.house.store.reading() as session:
        asked = said_today(session, [key], story.now.astimezone(ZONE).date())
    if not asked:
        with story.act(who, "say_no_other_dive") as act:
            other_dives.say_no_other_dive(act, key)


def prepare(story: Teller, who: str, group_id: int, bars: list[float]) -> None:
    """Ask the guide for other dives, brief the group, check kit, see the skills, read the start pressures."""
    say_other_dives(story, who)
    with story.house.store.reading() as session:
        found = entry(session, story.house, group_id, story.now)
    said = {
        item.key: item.states[0] if item.limit is None else f"{found.limits[item.limit].number:g}"
        for item in briefing.BRIEFING
    }
    with story.act(who, "answer_briefing") as act:
        getting_ready.answer_briefing(act, group_id, said, "en")
    with story.act(who, "check_kit") as act:
        checks = {
            (one.member.id or 0, item.key): item.states[0]
            for one in found.divers
            for item in briefing.KIT_CHECK
        }
        watch = found.view.surface_watch
        getting_ready.check_kit(act, group_id, checks, "" if watch is None else staff_key(watch.id))
    with story.act(who, "all_in_order") as act:
        shore_look.all_in_order(act, group_id)
    with story.act(who, "sign_skills") as act:
        seen = {
            (one.member.guest_id, key): Mark.SHOWN
            for one in found.divers
            if one.member.guest_id is not None
            for key in SKILLS
        }
        getting_ready.sign_skills(act, group_id, seen)
    with story.act(who, "read_pressures") as act:
        read = {one.member.id or 0: AsRead.as_kept(bar) for one, bar in zip(found.divers, bars, strict=True)}
        pressures.read_pressures(act, group_id, "start", read)


def go_in(story: Teller, who: str, group_id: int) -> None:
    """Roll call out: everybody of the group goes in."""
    with story.house.store.reading() as session:
        members = [one.row.id or 0 for one in group_view(session, group_id).members]
    with story.act(who, "go_in") as act:
        going_in.go_in(act, group_id, dict.fromkeys(members, "in"), len(members), act.now, None)


def come_back(story: Teller, who: str, counter: str, group_id: int) -> None:
    """Roll call in: each by name, then a second person counts heads."""
    with story.house.store.reading() as session:
        members = [one.row.id or 0 for one in group_view(session, group_id).members]
    for member in members:
        with story.act(who, "mark_back") as act:
            coming_out.mark_back(act, member, None)
    with story.act(counter, "count_heads") as act:
        coming_out.count_heads(act, group_id, len(members))


def wrap_up(
    story: Teller, who: str, group_id: int, bars: list[float], depth_m: float, happened: str = "nothing"
) -> None:
    """End pressures, the dive in words, closing it, and the cylinders back in the gas room."""
    with story.house.store.reading() as session:
        divers = entry(session, story.house, group_id, story.now).divers
        version = group_view(session, group_id).group.version
    with story.act(who, "read_pressures") as act:
        read = {one.member.id or 0: AsRead.as_kept(bar) for one, bar in zip(divers, bars, strict=True)}
        pressures.read_pressures(act, group_id, "end", read)
    with story.act(who, "write_dive") as act:
        dive_end.write_dive(act, group_id, version, depth_m, "slower", True, happened)
    with story.act(who, "close_dive") as act:
        dive_end.close_dive(act, group_id)
    for one in divers:
        with story.act(who, "take_back_cylinder") as act:
            cylinders.take_back_cylinder(act, one.out.id or 0 if one.out else 0)


def answers_of(one: Guest) -> dict[str, str]:
    """Return an invented guest's answers that are not No."""
    return dict(one.answers)
