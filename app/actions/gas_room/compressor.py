"""Keeping the compressor: what it delivers, filter and oil renewed, the banks and what they hold."""

from dataclasses import dataclass

from app.actions.act import Act, Invalid
from app.actions.gas_room.fills import read_compressor
from app.planning.cylinder import content_litres
from app.records.gas_room import compressor
from app.records.gas_room.cylinder_history import compressor_readings
from app.records.tables.compressor import (
    BankReadingRow,
    BankRow,
    CompressorOutputRow,
    CompressorServiceRow,
)
from app.rules import limits as L
from app.rules.decision import Reason

BANK_LABELS = {"name": "Name", "litres": "Size", "rated_bar": "Rated pressure", "in_use": "In use"}


@dataclass(frozen=True)
class MeasuredFill:
    """A fill with a watch beside it: litres of water volume, bar gauge, minutes, °C of the gas at the end.

    from_temp_c: of the gas at the start.
    """

    litres: float
    from_bar: float
    to_bar: float
    minutes: float
    temp_c: float
    from_temp_c: float


def delivered(fill: MeasuredFill) -> float:
    """Return the free air that a measured fill took in, L/min, dry at 1.01325 bar and 15 C."""
    held = content_litres(fill.litres, fill.from_bar, fill.from_temp_c)
    gained = content_litres(fill.litres, fill.to_bar, fill.temp_c) - held
    return gained / fill.minutes


def measure_output(act: Act, fill: MeasuredFill) -> CompressorOutputRow:
    """Write down what the compressor delivers, from a fill with a watch beside it; raises Invalid."""
    if fill.to_bar <= fill.from_bar or delivered(fill) <= 0:
        raise Invalid({"to_bar": f"It began at {fill.from_bar:g} bar. The end pressure must be higher."})
    row = act.add(
        CompressorOutputRow(
            free_air_l_min=round(delivered(fill), 1),
            litres=fill.litres,
            from_bar=fill.from_bar,
            to_bar=fill.to_bar,
            temp_c=fill.temp_c,
            minutes=fill.minutes,
            at=act.now,
            by=act.actor.name,
        )
    )
    act.about = ("compressor_output", str(row.id))
    return row


def write_output(act: Act, free_air_l_min: float) -> CompressorOutputRow:
    """Write down the maker's free air delivery in L/min."""
    row = act.add(CompressorOutputRow(free_air_l_min=free_air_l_min, at=act.now, by=act.actor.name))
    act.about = ("compressor_output", str(row.id))
    return row


def write_service(act: Act, kind: str, hours: float, note: str) -> CompressorServiceRow:
    """Write down a new filter cartridge or an oil service at an hour of the meter.

    An hour past the last reading is written down as a reading too. Raises Invalid for an hour before the
    last renewal of that part.
    """
    before = next((row for row in compressor.services(act.session) if row.kind == kind), None)
    if before is not None and hours < before.hours:
        raise Invalid({"hours": f"The last one was at {before.hours:g} h. Look at the meter again."})
    read = compressor_readings(act.session, 1)
    if not read or hours > read[0].hours:
        read_compressor(act, hours)
    row = act.add(CompressorServiceRow(kind=kind, hours=hours, note=note, at=act.now, by=act.actor.name))
    act.about = ("compressor_service", str(row.id))
    return row


def add_bank(act: Act, name: str, litres: float, rated_bar: float) -> BankRow:
    """Add a storage bank; raises Invalid when its name is taken."""
    _free_name(act, name, None)
    row = act.add(BankRow(name=name, litres=litres, rated_bar=rated_bar))
    act.about = ("bank", str(row.id))
    return row


def change_bank(
    act: Act, bank_id: int, version: int, name: str, litres: float, rated_bar: float, in_use: bool
) -> BankRow:
    """Change a bank, or take it out of use; raises Clash, and Invalid when the new name is taken."""
    row = act.get(BankRow, bank_id)
    _free_name(act, name, bank_id)
    values = {"name": name, "litres": litres, "rated_bar": rated_bar, "in_use": in_use}
    act.edit(row, version, values, BANK_LABELS)
    act.about = ("bank", str(bank_id))
    return row


def read_bank(act: Act, bank_id: int, bar: float) -> BankReadingRow:
    """Write down what a bank's gauge shows, bar; above its rated pressure it is stored and said."""
    row = act.get(BankRow, bank_id)
    if bar > row.rated_bar:
        text = f"{row.name} is rated {row.rated_bar:g} bar. Check the gauge, and lower a bank that is above."
        act.notices.append(Reason(L.CYLINDER_NOT_ABOVE_STAMP.key, text, "", ""))
    return _write_bank(act, bank_id, bar, worked_out=False)


def lower_banks(act: Act, after: dict[int, float]) -> None:
    """Write down what is left in banks after fills from them, as worked out: bank -> bar gauge."""
    for bank_id, bar in after.items():
        _write_bank(act, bank_id, bar, worked_out=True)


def _write_bank(act: Act, bank_id: int, bar: float, *, worked_out: bool) -> BankReadingRow:
    row = act.add(
        BankReadingRow(bank_id=bank_id, bar=bar, worked_out=worked_out, at=act.now, by=act.actor.name)
    )
    act.about = ("bank", str(bank_id))
    return row


def _free_name(act: Act, name: str, own: int | None) -> None:
    for one in compressor.banks(act.session, all_of_them=True):
        if one.row.name == name and one.row.id != own:
            raise Invalid({"name": f"{name} is the name of another bank. Choose another name."})
