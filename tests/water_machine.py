"""Rules that send forms of the water side in any order, and what must hold after every one of them."""

import itertools
import re
import tempfile
from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import ClassVar

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from app.actions.act import acting
from app.actions.health.shore_look import all_in_order
from app.actions.water_side.getting_ready import answer_briefing, check_kit, sign_skills
from app.actions.water_side.pressures import read_pressures
from app.planning.units import AsRead
from app.records.groups.facts import staff_key
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import TrailRow
from app.records.tables.water import CountRow, MissingRow, WaterEventRow
from app.records.water_side.entry import entry
from app.records.water_side.water import in_the_water
from app.rules import briefing
from app.rules.sign_off import SKILLS, Mark
from tests.water_sea import BACK, CREW, IN, NEVER, Letter, Sea, member_of, twice
from tests.web_ready import actor
from tests.web_world import Browser

GUIDES = {1: "Ines Instructor", 2: "Ivo Instructor", 3: "Ines Instructor"}
# Who may mark a return; the desk may count and raise the alarm.
WATER_CREW = CREW[:3]
# The guest without a group, by number and slot.
SPARE_GUEST, SLOT_MATES = 7, (1, 2)
# Two guests to a guide in good open water: nobody of these groups asks for more care.
MOST_GUESTS = 2
NEVER_REFUSED = {"mark_back", "count_heads", "report_missing", "call_off"}
COUNTED_BOX = re.compile(r'name="counted"[^>]*value="([^"]*)"')
groups = st.sampled_from(sorted(GUIDES))
places = st.integers(0, 3)
held = st.sampled_from((False, False, False, True))


class WaterMachine(RuleBasedStateMachine):
    """One shop from its copy to its end; ``done`` counts over all examples what was written."""

    kept: Path
    done: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.sea = Sea(self.kept, Path(self.folder.name) / "shop")
        self.drawer: list[Letter] = []
        self.sent: list[tuple[Letter, tuple[int, str]]] = []
        self.prefilled = 0

    def teardown(self) -> None:
        self.sea.close()
        self.folder.cleanup()

    # What people do ------------------------------------------------------------------------------

    @rule(group=groups, stays=places, hold=held, odd=st.sampled_from((0, 0, 0, 1)))
    def go_in(self, group: int, stays: int, hold: bool, odd: int) -> None:
        """Send a group in: all, or all but one; sometimes with a wrong count."""
        members = self.sea.memory.of(group)
        choices = {m: "stays" if n and n == stays else "in" for n, m in enumerate(members)}
        going = sum(word == "in" for word in choices.values())
        fields = {**{f"member_{m}": word for m, word in choices.items()}, "heads": going + odd, "time": ""}
        self.hand_in(
            "go_in", GUIDES[group], f"/water/{group}/out", group, fields, hold,
            told=tuple(choices.items()), number=going + odd,
        )  # fmt: skip

    @rule(
        group=groups, place=places, who=st.sampled_from(WATER_CREW), hold=held, late=st.sampled_from((0, 400))
    )
    def mark_back(self, group: int, place: int, who: str, hold: bool, late: int) -> None:
        """Mark somebody as back, in the water or not, from anybody's phone, its clock right or wrong."""
        member = self.pick(group, place)
        device = (self.sea.clock.at - timedelta(days=late)).isoformat()
        path = f"/water/{group}/back/{member}"
        self.hand_in("mark_back", who, path, group, {"device_at": device}, hold, member=member)

    @rule(group=groups, who=st.sampled_from(WATER_CREW))
    def everybody_back(self, group: int, who: str) -> None:
        """Mark all of a group who are in the water as back, one by one."""
        for member in sorted(self.sea.memory.in_water() & set(self.sea.memory.of(group))):
            self.hand_in("mark_back", who, f"/water/{group}/back/{member}", group, {}, False, member=member)

    @rule(group=groups, place=places, who=st.sampled_from(WATER_CREW), hold=held)
    def still_in(self, group: int, place: int, who: str, hold: bool) -> None:
        """Take a mark back."""
        member = self.pick(group, place)
        path = f"/water/{group}/still-in/{member}"
        self.hand_in("still_in", who, path, group, {"why": "mixed up"}, hold, member=member)

    @rule(group=groups, wrong=st.sampled_from((0, 0, 1, -1)), who=st.sampled_from(CREW), hold=held)
    def count_heads(self, group: int, wrong: int, who: str, hold: bool) -> None:
        """Count heads, right or wrong."""
        number = max(0, self.sea.memory.went(group) + wrong)
        path = f"/water/{group}/count"
        self.hand_in("count_heads", who, path, group, {"counted": number}, hold, number=number)

    @rule(group=groups, place=st.integers(-1, 2), who=st.sampled_from(CREW), hold=held)
    def report_missing(self, group: int, place: int, who: str, hold: bool) -> None:
        """Begin the missing-person procedure, with or without a name."""
        fields = {"member": self.pick(group, place) if place >= 0 else "", "last_seen": "At the buoy"}
        self.hand_in("report_missing", who, f"/water/{group}/missing", group, fields, hold)

    @precondition(lambda self: self.sea.memory.searching)
    @rule(place=places, who=st.sampled_from(CREW), where=st.sampled_from(("At the ladder", "")), hold=held)
    def report_found(self, place: int, who: str, where: str, hold: bool) -> None:
        """End a procedure, with or without saying where."""
        number, group = sorted(self.sea.memory.searching.items())[0]
        fields = {"member": self.pick(group, place), "where": where}
        path = f"/water/{group}/found/{number}"
        self.hand_in("report_found", who, path, group, fields, hold, number=number)

    @rule(group=groups, rare=st.integers(0, 3), hold=held)
    def call_off(self, group: int, rare: int, hold: bool) -> None:
        """End a dive for good."""
        if rare == 0:
            path = f"/water/{group}/call-off"
            self.hand_in("call_off", GUIDES[group], path, group, {"why": "Thunder"}, hold)

    @rule(group=groups, hold=held)
    def wrap_up(self, group: int, hold: bool) -> None:
        """Read end pressures, write the dive, and close it, done or not."""
        self.wrap(group, hold)

    def wrap(self, group: int, hold: bool) -> None:
        """Send the three forms of the wrap-up."""
        bars = {f"bar_{m}": 100 for m in self.sea.memory.of(group)}
        fields = {"moment": "end", **bars}
        self.hand_in("read_pressures", GUIDES[group], f"/water/{group}/pressures", group, fields, False)
        version = next(row.version for row in self.sea.rows(GroupRow) if row.id == group)
        dive = {"depth": "7.5", "ascent": "slower", "stop": "yes", "anything": "nothing", "version": version}
        self.hand_in("write_dive", GUIDES[group], f"/water/{group}/dive", group, dive, False)
        self.hand_in("close_dive", GUIDES[group], f"/water/{group}/close", group, {}, hold)

    @rule(group=groups, closes=st.sampled_from((True, True, False)), hold=held)
    def run_as_it_should(self, group: int, closes: bool, hold: bool) -> None:
        """Run a group as it should be run: all in, all found, all back, counted right, and closed.

        Forms sent in any order hardly ever end a dive; what comes after the end is tried from here.
        """
        memory, guide = self.sea.memory, GUIDES[group]
        if not memory.groups[group].entered:
            self.go_in(group, stays=0, hold=False, odd=0)
        if not memory.groups[group].entered or memory.groups[group].closed:
            return
        self.sea.clock.pass_minutes(12)
        for member in memory.of(group):
            if memory.state(member) not in (BACK, NEVER):
                path = f"/water/{group}/back/{member}"
                self.hand_in("mark_back", guide, path, group, {}, False, member=member)
        for number in sorted(n for n, where in memory.searching.items() if where == group):
            found = {"member": memory.of(group)[0], "where": "At the ladder"}
            path = f"/water/{group}/found/{number}"
            self.hand_in("report_found", guide, path, group, found, False, number=number)
        for who in (guide, "Lena Lead"):
            went = memory.went(group)
            path = f"/water/{group}/count"
            self.hand_in("count_heads", who, path, group, {"counted": went}, False, number=went)
        if closes:
            self.wrap(group, hold)
            self.done["closed"] += memory.groups[group].closed

    # Who goes with whom, and getting ready ---------------------------------------------------------

    @rule(group=st.sampled_from(SLOT_MATES), guest=st.sampled_from((1, 3, SPARE_GUEST)), hold=held)
    def join(self, group: int, guest: int, hold: bool) -> None:
        """Put a guest into a group."""
        path = f"/groups/guests/{guest}"
        fields = {"group": group}
        self.hand_in("put_in_group", "Dora Desk", path, group, fields, hold, number=guest)

    @rule(group=st.sampled_from(SLOT_MATES), place=places, out=st.booleans(), hold=held)
    def move(self, group: int, place: int, out: bool, hold: bool) -> None:
        """Move a guest to the other group of the slot, or out."""
        member = self.pick(group, place)
        to = "out" if out else str(3 - group)
        version = next(row.version for row in self.sea.rows(MemberRow) if row.id == member)
        fields = {"to": to, "version": version}
        path = f"/groups/members/{member}"
        self.hand_in(
            "move_guest", "Dora Desk", path, group, fields, hold, member=member,
            number=0 if out else 3 - group,
        )  # fmt: skip

    @rule(group=groups)
    def give_cylinders_and_plan(self, group: int) -> None:
        """Give whoever has none a cylinder, issue a plan and check what is checked before the water."""
        sea = self.sea
        slot = sea.memory.groups[group].slot
        page = Browser(sea.clients["Dora Desk"])
        sea.ask("Dora Desk", "/today")
        board = Browser(sea.clients["Dora Desk"]).open(f"/gas/give?slot={slot}&day=2026-07-15")
        for form in board.forms("give_cylinder"):
            page = board.send_form(form, {})
            self.done["give_cylinder"] += page.status == 200
        guide = GUIDES[group]
        sea.ask(guide, "/today")
        plan = Browser(sea.clients[guide]).open(f"/groups/{group}/plan")
        if plan.forms("issue_plan"):
            self.done["issue_plan"] += plan.send("issue_plan", acknowledged="yes").status == 200
        if not sea.memory.groups[group].entered:
            self.check_everybody(group, guide)

    def check_everybody(self, group: int, guide: str) -> None:
        """Answer briefing, kit check, look, skills and start pressures, as the guide would."""
        sea = self.sea
        with sea.world.house.store.reading() as session:
            found = entry(session, sea.world.house, group, sea.clock())
        said = {
            item.key: item.states[0] if item.limit is None else f"{found.limits[item.limit].number:g}"
            for item in briefing.BRIEFING
        }
        ids = [one.id for one in found.divers]
        guests = [one.member.guest_id or 0 for one in found.divers if one.member.guest_id]
        bars = {one.id: AsRead.as_kept(200.0) for one in found.divers if one.cylinder is not None}
        with acting(sea.world.house, actor(sea.world, guide), "made_for_a_test") as act:
            answer_briefing(act, group, said)
            checks = {(one, i.key): i.states[0] for one in ids for i in briefing.KIT_CHECK}
            check_kit(act, group, checks, staff_key(actor(sea.world, "Lena Lead").person_id))
            all_in_order(act, group)
            sign_skills(act, group, {(guest, skill): Mark.SHOWN for guest in guests for skill in SKILLS})
            read_pressures(act, group, "start", bars)

    # Time, power, and the post ---------------------------------------------------------------------

    @rule(minutes=st.sampled_from((1, 4, 12, 12, 35, 90, -50, 24 * 60, -24 * 60, 300 * 24 * 60)))
    def time_passes(self, minutes: int) -> None:
        """Let the clock go on, or jump."""
        self.sea.clock.pass_minutes(minutes)

    @rule()
    def restart(self) -> None:
        """Close the shop and open it again."""
        self.sea.restart()
        self.done["restart"] += 1

    @precondition(lambda self: self.drawer)
    @rule(place=st.integers(0, 20))
    def send_stale(self, place: int) -> None:
        """Send a form that was opened earlier."""
        self.deliver(self.drawer.pop(place % len(self.drawer)))

    @precondition(lambda self: self.sent)
    @rule(place=st.integers(0, 20), other=st.booleans())
    def send_again(self, place: int, other: bool) -> None:
        """Send what was acknowledged once more: the same answer, and nothing is written."""
        letter, answer = self.sent[-1 - place % len(self.sent)]
        before = self.written()
        again = self.sea.post(letter, **({"strange": "other content"} if other else {}))
        assert again[0] == 409 if other else again == answer, (letter, answer, again)
        assert self.written() == before, f"sent twice, written twice: {letter}"
        self.done["other content" if other else "again"] += 1

    # Sending and learning --------------------------------------------------------------------------

    def pick(self, group: int, place: int) -> int:
        """Return somebody who is, or was, in a group."""
        known = [m for m, one in self.sea.memory.members.items() if one.group == group]
        return known[place % len(known)]

    def written(self) -> tuple[int, ...]:
        """Return how much stands in the records of the water."""
        return tuple(
            len(self.sea.rows(kind)) for kind in (WaterEventRow, CountRow, MissingRow, MemberRow, TrailRow)
        )

    def hand_in(self, verb: str, who: str, path: str, group: int, fields: dict, hold: bool, **about) -> None:  # type: ignore[no-untyped-def, type-arg]
        """Fill a form in and send it, or keep it for later."""
        letter = self.sea.write(verb, who, path, group, fields, **about)
        if hold:
            self.drawer = [*self.drawer[-9:], letter]
        else:
            self.deliver(letter)

    def deliver(self, letter: Letter) -> None:
        """Send a form and learn from its answer."""
        status, to = self.sea.post(letter)
        if status == 403 or to == "/sign-in":
            # Somebody signed in anew since the page was opened, or must: the page is filled in again.
            self.done["signed in again"] += 1
            self.sea.sign_in(letter.who)
            fresh = {"key": self.sea.key(), "token": self.sea.token(letter.who)}
            letter = Letter(
                letter.verb, letter.who, letter.path,
                tuple({**dict(letter.fields), **fresh}.items()),
                letter.group, letter.member, letter.told, letter.number,
            )  # fmt: skip
            status, to = self.sea.post(letter)
        unknown = letter.verb == "mark_back" and not (
            self.sea.memory.members[letter.member].here or self.sea.memory.state(letter.member)
        )
        if letter.verb in NEVER_REFUSED and not unknown:
            assert status == 303 and to != "/sign-in", (letter, status, to)
        self.done[f"{letter.verb} {status}"] += 1
        if self.sea.memory.groups[letter.group].closed:
            self.done[f"after the end: {letter.verb} {status}"] += 1
        if status == 303 and to != "/sign-in":
            self.sent = [*self.sent[-19:], (letter, (status, to))]
            getattr(self, f"learn_{letter.verb}", lambda _: None)(letter)

    def learn_go_in(self, letter: Letter) -> None:
        memory, group = self.sea.memory, self.sea.memory.groups[letter.group]
        told = dict(letter.told)
        going = [m for m, word in told.items() if word == "in"]
        assert not group.entered and not group.over and not group.closed, letter
        assert set(told) == set(memory.of(letter.group)), "everybody of the group is answered for"
        assert letter.number == len(going), "counted as marked"
        wet = {memory.members[m].who for m in memory.in_water()}
        people = [memory.members[m] for m in going]
        assert not wet & {one.who for one in people}, "in the water with another group"
        assert [one.part for one in people].count("guide") == 1
        assert 1 <= sum(one.part == "guest" for one in people) <= MOST_GUESTS
        group.entered = True
        memory.events += [(m, IN) for m in going] + [(m, NEVER) for m in told if m not in going]

    def learn_mark_back(self, letter: Letter) -> None:
        memory = self.sea.memory
        went = (letter.member, IN) in memory.events
        memory.events.append((letter.member, BACK if went else NEVER))

    def learn_still_in(self, letter: Letter) -> None:
        memory = self.sea.memory
        before = memory.state(letter.member)
        assert before in (IN, BACK), "nobody goes in by a correction"
        if before == BACK:
            memory.events.append((letter.member, IN))
            memory.groups[letter.group].closed = False

    def learn_count_heads(self, letter: Letter) -> None:
        group, went = self.sea.memory.groups[letter.group], self.sea.memory.went(letter.group)
        group.counted.append(letter.number)
        group.wrong += letter.number != went
        row = [
            one
            for one in self.sea.rows(CountRow)
            if one.group_id == letter.group and one.way == "in" and one.method == "heads"
        ][-1]
        assert (row.counted, row.expected, row.agrees) == (letter.number, went, letter.number == went)
        assert row.counter == letter.who

    def learn_report_found(self, letter: Letter) -> None:
        said = dict(letter.fields)
        assert said["where"] and said["member"]
        self.sea.memory.searching.pop(letter.number, None)

    def learn_call_off(self, letter: Letter) -> None:
        self.sea.memory.groups[letter.group].over = True

    def learn_close_dive(self, letter: Letter) -> None:
        memory, group = self.sea.memory, self.sea.memory.groups[letter.group]
        if not group.closed:
            assert not memory.in_water() & set(memory.of(letter.group)), "closed with somebody in the water"
            assert all(memory.state(m) in (BACK, NEVER) for m in memory.of(letter.group))
            assert letter.group not in memory.searching.values(), "closed while somebody is missing"
            assert group.counted and group.counted[-1] == memory.went(letter.group), "closed on a wrong count"
            group.closed = True

    def learn_put_in_group(self, letter: Letter) -> None:
        self.learn_places(letter.group, f"guest-{letter.number}")

    def learn_move_guest(self, letter: Letter) -> None:
        moved = self.sea.memory.members[letter.member]
        assert moved.here and self.sea.memory.state(letter.member) not in (IN, BACK)
        moved.here = False
        if letter.number:
            self.learn_places(letter.number, moved.who)

    def learn_places(self, group: int, who: str) -> None:
        (row,) = self.sea.newcomers()
        assert (row.group_id, member_of(row).who) == (group, who)
        assert not self.sea.memory.groups[group].entered and not self.sea.memory.groups[group].over
        self.sea.memory.members[row.id or 0] = member_of(row)

    # What holds after every step -------------------------------------------------------------------

    @invariant()
    def nobody_is_lost(self) -> None:
        """Records, board and memory name the same people, event for event."""
        self.done["checked"] += 1
        memory = self.sea.memory
        assert self.sea.stored_events() == memory.events
        with self.sea.world.house.store.reading() as session:
            wet = [one.member_id for one in in_the_water(session)]
        assert sorted(wet) == sorted(memory.in_water())
        assert self.sea.board() == dict.fromkeys(wet, "in")
        assert not twice(memory.members[m].who for m in wet), "one person in the water of two groups"

    @invariant()
    def everybody_has_one_place(self) -> None:
        """Who is where is what was acknowledged; who went in stays; nobody is in two groups of a slot."""
        memory = self.sea.memory
        stored = {row.id: member_of(row) for row in self.sea.rows(MemberRow)}
        assert stored == memory.members
        assert all(memory.members[m].here for m, word in memory.events if memory.state(m) in (IN, BACK))
        for _, slot in itertools.groupby(
            sorted(memory.members.values(), key=lambda one: memory.groups[one.group].slot),
            key=lambda one: memory.groups[one.group].slot,
        ):
            here = [one.who for one in slot if one.here and not memory.groups[one.group].over]
            assert not twice(here)

    @invariant()
    def groups_stand_as_told(self) -> None:
        """Entered, called off and closed are what was acknowledged; nobody is in a closed dive's water."""
        memory = self.sea.memory
        for row in self.sea.rows(GroupRow):
            group = memory.groups[row.id]
            assert (row.entered_at is not None, row.aborted_at is not None) == (group.entered, group.over)
            assert (row.closed_at is not None) == group.closed
            assert not group.closed or not memory.in_water() & set(memory.of(row.id))
        for event in self.sea.rows(WaterEventRow):
            went = (
                [
                    e
                    for e in self.sea.rows(WaterEventRow)
                    if e.member_id == event.member_id and e.event == IN and e.id < event.id
                ]
                if event.event == BACK
                else []
            )
            if went and event.happened_at < went[-1].happened_at:
                assert event.flag, "a return before its entry is flagged"

    @invariant()
    def a_search_ends_only_by_finding(self) -> None:
        """Procedures begin by a report or by counts that stay wrong, and end with who and where."""
        memory = self.sea.memory
        rows = self.sea.rows(MissingRow)
        for row in rows:
            if row.ended_at is None:
                memory.searching.setdefault(row.id, row.group_id)
            else:
                assert row.id not in memory.searching and row.member_id and row.found_where and row.ended_by
        assert set(memory.searching) == {row.id for row in rows if row.ended_at is None}
        for number, group in memory.groups.items():
            begun = any(row.group_id == number for row in rows)
            assert begun or group.wrong < 2, "two wrong counts begin a search"

    @rule(group=groups, who=st.sampled_from(CREW))
    def look(self, group: int, who: str) -> None:
        """Open the roll call in: the count's box is empty, and nobody is called back who is not."""
        text = self.sea.ask(who, f"/water/{group}/back").text if self.sees(who, group) else ""
        for box in COUNTED_BOX.findall(text):
            assert box == ""
            self.done["count box empty"] += 1
        if self.sea.memory.in_water() & set(self.sea.memory.of(group)):
            assert "Everyone is back" not in text

    def sees(self, who: str, group: int) -> bool:
        """Whether somebody may see a group's roll call; all of this crew may."""
        return who in CREW and group in GUIDES
