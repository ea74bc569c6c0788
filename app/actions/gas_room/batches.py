"""A batch at the compressor: the hour meter, the fills, what they took from the banks, air measured later."""

from collections.abc import Mapping
from dataclasses import dataclass

from app.actions.act import Act, Invalid
from app.actions.gas_room.compressor import lower_banks
from app.actions.gas_room.cylinders import quarantine
from app.actions.gas_room.fills import Air, Fill, fill_several, read_compressor, say_reason
from app.planning.cylinder import settled_gauge
from app.planning.filling import cascade
from app.records.gas_room import compressor, fill_batches
from app.records.gas_room.cylinder_history import air_tested_on
from app.records.gas_room.cylinders import cylinder_facts, open_quarantines
from app.records.setup.shop import limits_now, the_shop
from app.records.tables.compressor import BatchAirRow
from app.records.tables.cylinders import FillRow
from app.rules.cylinders import AirFacts
from app.rules.fills import judge_air


@dataclass(frozen=True)
class Meter:
    """The hour meter around a batch, in hours; None where it was not read."""

    before: float | None = None
    after: float | None = None


def write_batch(
    act: Act, fills: Mapping[int, Fill], air: Air, meter: Meter, *, from_banks: bool
) -> list[FillRow]:
    """Write down a batch with the meter around it; raises as its parts do.

    from_banks: the banks gave first, lowest first, and what is left in them is worked out.
    """
    if meter.before is not None:
        read_compressor(act, meter.before, "hours_before")
    rows = fill_several(act, fills, air)
    if from_banks:
        _take_from_banks(act, rows, air)
    if meter.after is not None:
        read_compressor(act, meter.after, "hours_after")
    act.about = ("cylinder", " ".join(str(key) for key in fills))
    return rows


def measure_batch(act: Act, fill_id: int, co_ppm: float | None, oxygen_percent: float | None) -> BatchAirRow:
    """Write down air measured after a batch; bad air sets its cylinders aside, wherever they are."""
    batch = fill_batches.batch_of(act.session, fill_id)
    if co_ppm is None and oxygen_percent is None:
        raise Invalid({"co_ppm": "Enter what was measured."})
    row = act.add(
        BatchAirRow(
            first_fill_id=batch.first.id or 0,
            co_ppm=co_ppm,
            oxygen_percent=oxygen_percent,
            at=act.now,
            by=act.actor.name,
        )
    )
    air = AirFacts(oxygen_percent, co_ppm, air_tested_on(act.session))
    bad = judge_air(air, limits_now(act.session), the_shop(act.session).day_of(act.now)).bad
    act.notices.extend(bad)
    if bad:
        why = " ".join(say_reason(reason) for reason in bad)
        aside = open_quarantines(act.session, batch.cylinder_ids)
        in_shop = cylinder_facts(act.session, batch.cylinder_ids)
        for key in batch.cylinder_ids:
            if key not in aside and key in in_shop:
                quarantine(act, key, why)
        act.reason = _with_who_has_them(act, batch, why)
    act.about = ("fill", str(batch.first.id))
    return row


def _with_who_has_them(act: Act, batch: fill_batches.Batch, why: str) -> str:
    """The reason with the groups that have these cylinders now. Names stay sealed in the records."""
    out = fill_batches.aside_but_out(act.session, batch.cylinder_ids)
    if not out:
        return f"{why} None of them is out."
    where = ", ".join(f"{one.cylinder.number} with group {one.holder.group.name}" for one in out)
    return f"{why} Out now: {where}."


def _take_from_banks(act: Act, rows: list[FillRow], air: Air) -> None:
    banks = compressor.stored(act.session)
    keys = sorted(banks)
    stored = [banks[key] for key in keys]
    facts = cylinder_facts(act.session, [row.cylinder_id for row in rows])
    for row in rows:
        end = settled_gauge(row.end_bar, air.temp_c, compressor.ROOM_C)
        filled = cascade(stored, facts[row.cylinder_id].litres or 0.0, row.start_bar, end, compressor.ROOM_C)
        stored = list(filled.banks)
    lower_banks(
        act,
        {
            key: after.gauge_bar
            for key, after in zip(keys, stored, strict=True)
            if after.gauge_bar < banks[key].gauge_bar
        },
    )
