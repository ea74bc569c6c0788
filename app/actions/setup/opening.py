"""What a start of the program writes down about the records that it found."""

from app.actions.act import PROGRAM, acting
from app.records.store.check import missing_tail
from app.records.store.house import House


def note_gap(house: House) -> str | None:
    """Write into the trail that its newest entries are gone, and say so; None when nothing is missing.

    The shop opens all the same, since an older copy may have been put back on purpose; but the note beside
    the database is about to move on, so what it knew is kept in the chain.
    """
    with house.store.reading() as session:
        missing = missing_tail(session, house.head)
    if missing is not None:
        with acting(house, PROGRAM, "open_older_records") as act:
            act.reason = missing
    return missing
