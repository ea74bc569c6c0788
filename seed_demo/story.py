"""Three days at Harbour Steps: yesterday closed, today half run at eleven, tomorrow booked."""

from datetime import date, timedelta
from typing import Any

from app.actions.act import PROGRAM, acting
from app.actions.gas_room import cylinder_stock, fills
from app.actions.setup.sign_in import hash_secret
from app.actions.welcome import slots
from app.records.health.keeper import OPENS
from app.records.store.house import House
from app.records.tables.house import ShopRow, SiteRow
from app.records.tables.kit import KitItemRow
from app.records.tables.people import PersonRow
from app.records.tables.privacy import SecrecyRow
from app.rules.choices import SECRECY_VERSION
from seed_demo import compressor, day_before, day_itself, earlier
from seed_demo.bookings import SLOTS
from seed_demo.bookings_told import book_all
from seed_demo.habits import fill
from seed_demo.people import FIRST_PIN, PASSPHRASE, STAFF
from seed_demo.teller import Teller
from seed_demo.things import CYLINDERS, KIT

MANAGER, DESK, LEAD = "Wren Tallow", "Odile Marsh", "Bram Keelan"


def tell(house: House, today: date) -> list[dict[str, Any]]:
    """Tell the whole story into an empty house; return the sign-ins of its people."""
    story = Teller(house, today)
    story.at(today - timedelta(days=1), "07:30")
    sign_ins = _open_shop(story)
    _stock(story)
    _slots(story)
    earlier.tell(story)
    book_all(story)
    day_before.tell(story)
    day_itself.tell(story)
    return sign_ins


def _open_shop(story: Teller) -> list[dict[str, Any]]:
    house = story.house
    sign_ins = []
    with acting(house, PROGRAM, "set_up_demo") as act:
        act.add(
            ShopRow(
                name="Harbour Steps",
                timezone="Europe/Lisbon",
                currency="EUR",
                price_guest_cents=9500,
                phone_ambulance="112",
                phone_shop="555 0100",
                phone_dive_doctor="555 0199",
                demo=True,
            )
        )
        for name, confined, water, density, temp, cap in (
            ("Long Jetty", False, "salt", 1025.5, 17.0, None),
            ("Quarry", False, "fresh", 999.0, 14.0, 8.0),
            ("Training Pool", True, "fresh", 996.0, 28.0, 2.5),
        ):
            site = SiteRow(
                name=name,
                confined=confined,
                water=water,
                density_kg_m3=density,
                usual_temp_c=temp,
                depth_cap_m=cap,
            )
            story.sites[name] = act.add(site).id or 0
        # One passphrase for all, hashed once: the demo opens nothing but itself.
        hashed = hash_secret(house, PASSPHRASE)
        for number, one in enumerate(STAFF):
            pin = str(FIRST_PIN + 7 * number)
            until = story.today + timedelta(days=30 * one.months) if one.months else None
            person = PersonRow(
                name=one.name,
                roles=" ".join(sorted(one.roles.split())),
                languages=one.languages,
                passphrase_hash=hashed,
                pin_hash=hash_secret(house, pin),
                grade=one.grade,
                credential_until=until,
                first_aid_until=until,
                diver_medical_until=until,
                depth_cap_m=one.depth_cap_m,
                breathing_rate_l_min=one.breathing_rate_l_min,
            )
            story.people[one.name] = act.add(person)
            if set(one.roles.split()) & OPENS:
                act.add(
                    SecrecyRow(
                        person_id=person.id or 0, text_version=SECRECY_VERSION, signed_on=story.today,
                        at=act.now,
                    )
                )  # fmt: skip
            sign_ins.append(
                {"person": one.name, "roles": one.roles.split(), "passphrase": PASSPHRASE, "pin": pin}
            )
    return sign_ins


def _stock(story: Teller) -> None:
    for one in CYLINDERS:
        with story.act(MANAGER, "add_cylinder") as act:
            row = cylinder_stock.add_cylinder(
                act,
                {
                    "number": one.number,
                    "litres": one.litres,
                    "working_pressure_bar": one.working_bar,
                    "material": one.material,
                    "owner": "Harbour Steps",
                    "last_visual": story.today - timedelta(days=30 * one.visual),
                    "last_pressure_test": story.today - timedelta(days=30 * one.pressure),
                },
            )
            story.cylinders[one.number] = row.id or 0
    with story.act(MANAGER, "add_kit_item") as act:
        for item in KIT:
            act.add(
                KitItemRow(
                    kind=item.kind,
                    number=item.number,
                    size=item.size,
                    thickness_mm=item.thickness_mm,
                    cover="full" if item.kind == "suit" else "",
                    service_due=story.today + timedelta(days=200)
                    if item.kind in ("regulator", "jacket")
                    else None,
                )
            )
    compressor.write_air(story, LEAD)
    with story.act(LEAD, "read_compressor") as act:
        fills.read_compressor(act, 1402.5)
    compressor.keep(story, LEAD, MANAGER)
    full = [one for one in CYLINDERS if one.number not in ("S11", "A07")]
    fill(story, LEAD, {one.number: (60.0, 215.0 if one.material == "steel" else 204.0) for one in full}, 30.0)
    with story.act(LEAD, "read_compressor") as act:
        fills.read_compressor(act, 1407.0)


def _slots(story: Teller) -> None:
    for offset, rows in SLOTS.items():
        for clock, site, places in rows:
            with story.act(MANAGER, "add_slot") as act:
                row = slots.add_slot(
                    act, story.today + timedelta(days=offset), clock, story.sites[site], places
                )
                story.slots[offset, clock] = row.id or 0
