"""Breathing rates of staff to plan with before anything was measured.

Rates in L/min at the diver's pressure; the cautious end is the upper end of a band that holds nine of
ten. The staff middle lies between published rates of experienced divers at rest and swimming slowly
(15 to 17 L/min); our own choice.
"""

from app.planning.breathing import REFERENCE_MASS_KG, Rates, predict, prior

STAFF_MIDDLE_L_MIN = 16.0


def staff_rates(own_l_min: float | None) -> Rates:
    """Return what to expect of a guide: around the guide's own rate on file, or of guides in general."""
    if own_l_min is None:
        return predict(prior(STAFF_MIDDLE_L_MIN), REFERENCE_MASS_KG)
    return predict(prior(own_l_min), REFERENCE_MASS_KG, (own_l_min,))
