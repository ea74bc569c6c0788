"""The compressor of Harbour Steps: its air, its renewals, what it delivers, and two banks."""

from datetime import timedelta

from app.actions.gas_room import compressor, fills
from app.records.gas_room.compressor import FILTER, OIL
from app.rules.compressor import Certificate
from seed_demo.teller import Teller

# A fill with a watch beside it: about 110 L/min.
MEASURED = compressor.MeasuredFill(
    litres=12, from_bar=50, to_bar=215, minutes=15.5, temp_c=38, from_temp_c=21
)
# Name, litres, rated pressure, pressure as read.
BANKS = (("Bank 1", 50.0, 300.0, 195.0), ("Bank 2", 100.0, 232.0, 140.0))


def write_air(story: Teller, who: str) -> None:
    """The certificate of the air, forty days old."""
    with story.act(who, "add_air_test") as act:
        test = Certificate(story.today - timedelta(days=40), True, 20.9, 1.0, 410.0, 0.1, 24.0)
        fills.add_air_test(act, test, "Air test 118", "HS-118")


def keep(story: Teller, who: str, manager: str) -> None:
    """Filter and oil as they were renewed, the delivery as measured, and the banks as read."""
    for kind, hours, note in ((OIL, 1340.0, "Oil and belt"), (FILTER, 1386.0, "Cartridge 12")):
        with story.act(who, "write_service") as act:
            compressor.write_service(act, kind, hours, note)
    with story.act(who, "measure_output") as act:
        compressor.measure_output(act, MEASURED)
    for name, litres, rated, bar in BANKS:
        with story.act(manager, "add_bank") as act:
            bank = compressor.add_bank(act, name, litres, rated)
        with story.act(who, "read_bank") as act:
            compressor.read_bank(act, bank.id or 0, bar)
