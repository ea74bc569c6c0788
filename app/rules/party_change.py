"""May a booking be changed now? Nobody who went in the water vanishes by editing.

Source: our own cautious choice.
"""

from app.rules import limits as L
from app.rules.decision import Decision
from app.rules.measure import must


def may_leave_booking(name: str, event: str, *, group_is_out: bool) -> Decision:
    """May a guest be moved, cancelled or taken out of a party?

    event: the newest water event of the guest in a group, "" while there is none. group_is_out: that group
    went in already, so that everybody in it must be answered for.
    """
    if event == "in":
        text = f"{name} is in the water. Bring {name} back first."
        found = "in the water"
    elif event == "back":
        text = f"{name} dived with this booking and stays in it."
        found = "dived"
    else:
        text = f"The group of {name} went in. Say first whether {name} went in with it."
        found = "not answered for"
    return must(
        L.ROLL_CALL_BY_NAME,
        event == "never-entered" or (event == "" and not group_is_out),
        text,
        found=found,
        needed="not gone in",
        who=name,
    )


def day_is_open(signed_off: bool) -> Decision:
    """Is the day not signed off yet? Afterwards its bookings stay as they were."""
    return must(
        L.DIVE_CLOSED,
        not signed_off,
        "This day is signed off. Its bookings stay as they were.",
        found="signed off",
        needed="an open day",
    )


def stands_booked(state: str) -> Decision:
    """Is this party or guest still booked? state: "booked", "cancelled" or "no-show"."""
    return must(
        L.GUEST_BOOKED,
        state == "booked",
        "This booking does not stand any more. Book it again first.",
        found=state,
        needed="booked",
    )
