"""Which logged dives teach the shop's breathing rates. A wild figure is kept and weighs little; one that no
diver can have breathed is left out and named."""

from app.rules import limits as L
from app.rules.decision import Decision
from app.rules.measure import must, within
from app.rules.resolve import Limits


def may_teach(
    start_bar: float, end_bar: float, minutes: float, rate_l_min: float | None, limits: Limits, who: str = ""
) -> Decision:
    """Can somebody have breathed like this? Pressures in bar gauge, minutes in the water.

    rate_l_min: settled rate in L/min at the diver's pressure, None where the figures give none.
    """
    used = must(
        L.NO_PRESSURE_RISE,
        start_bar > end_bar,
        "The end pressure is not under the start pressure. One of the two was misread.",
        found=f"{start_bar:g} then {end_bar:g} bar",
        needed="falling",
        who=who,
    )
    long_enough = within(
        limits[L.LOGGED_MINUTES_LEAST],
        minutes,
        unknown="The minutes in the water are not known.",
        broken="The dive is too short to tell how somebody breathes.",
        who=who,
    )
    if not (used + long_enough).allowed:
        return used + long_enough
    words = "Nobody breathes like this. A pressure, the cylinder or a time is wrong."
    unknown = "No breathing rate comes out of these figures."
    return within(
        limits[L.BREATHING_RATE_LOWEST], rate_l_min, unknown=unknown, broken=words, who=who
    ) + within(limits[L.BREATHING_RATE_HIGHEST], rate_l_min, unknown=unknown, broken=words, who=who)
