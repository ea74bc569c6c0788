"""Storing earlier dives from paper as a list, and taking a list back as a whole. Nothing is ever deleted."""

from app.actions.act import Act, Clash, Difference, Invalid
from app.records.plans.earlier_dives import EarlierDive, batch, new_ones
from app.records.tables.breathing import EarlierBatchRow, EarlierDiveRow, EarlierTakenBackRow


def store_earlier_dives(act: Act, dives: list[EarlierDive], note: str) -> EarlierBatchRow:
    """Store the dives of a list that are not here yet; raises Invalid when there are none."""
    fresh = new_ones(act.session, dives)
    if not fresh:
        raise Invalid({"lines": "All of these dives are here already. Nothing was stored."})
    row = act.add(
        EarlierBatchRow(
            note=note, dives=len(fresh), at=act.now, by_id=act.actor.person_id or 0, by=act.actor.name
        )
    )
    for dive in fresh:
        act.session.add(
            EarlierDiveRow(
                batch_id=row.id or 0,
                dived_on=dive.dived_on,
                mass_kg=dive.mass_kg,
                litres=dive.litres,
                start_bar=dive.start_bar,
                end_bar=dive.end_bar,
                minutes=dive.minutes,
                mean_depth_m=dive.mean_depth_m,
                water_temp_c=dive.water_temp_c,
            )
        )
    act.session.flush()
    act.about = ("earlier_batch", str(row.id))
    return row


def take_back_earlier_dives(act: Act, batch_id: int, why: str) -> EarlierTakenBackRow:
    """Let a list count no more; raises NotHere, or Clash when somebody took it back meanwhile."""
    found = batch(act.session, batch_id)
    if found.gone is not None:
        raise Clash([Difference("Why", why, found.gone.why)], found.gone.by, found.gone.at)
    row = act.add(EarlierTakenBackRow(batch_id=batch_id, why=why, at=act.now, by=act.actor.name))
    act.about, act.reason = ("earlier_batch", str(batch_id)), why
    return row
