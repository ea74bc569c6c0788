"""What the team writes down of a minor's guardians: where one is today, and that parents disagree."""

from app.actions.act import Act, Invalid
from app.records.health.health import PARENTS_DISAGREE, standing_of
from app.records.health.health_reads import guest_on
from app.records.health.health_rows import consents_of, newest
from app.records.store.problems import NotHere
from app.records.tables.health import ConsentRow
from app.rules.consents import GUARDIAN


def note_guardian_place(act: Act, guest_id: int, place: str) -> None:
    """Store where a minor's guardian is today; raises Invalid while no guardian has signed."""
    guest, day = guest_on(act.session, guest_id)
    stands = standing_of(act.session, act.house, guest, day)
    if stands.guardian_consent_on is None:
        raise Invalid({"place": "The guardian has not signed yet. Hand the tablet over first."})
    act.add(
        ConsentRow(
            guest_ref=guest.ref,
            kind="guardian-place",
            given=True,
            text_version=GUARDIAN.version,
            guardian_place=place,
            recorded_by=act.actor.name,
            at=act.now,
        )
    )


def note_parents(act: Act, guest_id: int, *, disagree: bool) -> None:
    """Store that a minor's parents are known to disagree, or, by the lead alone, that they agree again.

    While they disagree the child stays ashore, whatever one of them signs. Raises NotHere or Invalid.
    """
    guest, _ = guest_on(act.session, guest_id)
    before = newest(consents_of(act.session, guest.ref), PARENTS_DISAGREE)
    stands = before is not None and before.given
    if not disagree and "lead" not in act.actor.roles:
        raise NotHere("the lead alone takes this back")
    if disagree is stands:
        raise Invalid({"parents": "That is noted already."})
    act.about = ("guest", str(guest.id))
    act.add(
        ConsentRow(
            guest_ref=guest.ref,
            kind=PARENTS_DISAGREE,
            given=disagree,
            text_version=GUARDIAN.version,
            recorded_by=act.actor.name,
            at=act.now,
        )
    )
