"""Holding one fact against one rule. Every gate compares through these two, so none compares alone."""

from app.rules import limits
from app.rules.decision import ALLOWED, Decision, Reason, refuse
from app.rules.limits import Limit
from app.rules.resolve import InForce, needed, show


def within(limit: InForce, found: float | None, *, unknown: str, broken: str, who: str = "") -> Decision:
    """Is a number on the allowed side of a limit? `found` is in the limit's unit.

    An unknown number gives the sentence `unknown`, a broken limit the sentence `broken`; a limit
    without a value refuses whatever was found. The edge itself is allowed.
    """
    edge = limit.number
    if found is None:
        text = unknown
    elif edge is None:
        text = f"{limits.ALL[limit.key].what}: no value is set. Ask the manager to set it."
    elif found <= edge if limits.ALL[limit.key].direction == "max" else found >= edge:
        return ALLOWED
    else:
        text = broken
    return refuse(Reason(limit.key, text, show(found), needed(limit), limit.unit, limit.bound_by, who))


def must(rule: Limit, met: bool | None, text: str, *, found: str, needed: str, who: str = "") -> Decision:
    """A hard rule without a number: only a plain yes passes, unknown does not."""
    if met is True:
        return ALLOWED
    return refuse(Reason(rule.key, text, found, needed, "", "hard limit", who))
