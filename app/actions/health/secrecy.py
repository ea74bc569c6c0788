"""The promise of secrecy: whoever opens health data has given it; an emergency never waits for it."""

from sqlmodel import col, select

from app.actions.act import Act, Refused
from app.records.setup.shop import the_shop
from app.records.tables.privacy import SecrecyRow
from app.rules.choices import SECRECY_VERSION
from app.rules.decision import Reason, refuse
from app.rules.limits import SECRECY_SIGNED

SENTENCE = "Promise secrecy first, once: Your promise, at the foot of every page."


def promise(act: Act) -> SecrecyRow:
    """Store that the person who acts promises secrecy."""
    return act.add(
        SecrecyRow(
            person_id=act.actor.person_id or 0,
            text_version=SECRECY_VERSION,
            signed_on=the_shop(act.session).day_of(act.now),
            at=act.now,
        )
    )


def only_promised(act: Act) -> None:
    """Go on when the person who acts has promised secrecy in today's words; raises Refused."""
    asked = select(SecrecyRow).where(SecrecyRow.person_id == act.actor.person_id)
    newest = act.session.exec(asked.order_by(col(SecrecyRow.id).desc())).first()
    if newest is None or newest.text_version != SECRECY_VERSION:
        found = "not given" if newest is None else "given in older words"
        raise Refused(refuse(Reason(SECRECY_SIGNED.key, SENTENCE, found, "given", "", "hard limit")))
