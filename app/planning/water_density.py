"""How heavy the water is: fresh, brackish and sea water, from salinity and temperature.

The one-atmosphere equation of state of sea water EOS-80 (Millero and Poisson 1981, Deep-Sea Research
28A:625; UNESCO Technical Papers in Marine Science 36; coefficients from memory, checked against TEOS-10).
To 12 m the water's own compression adds 0.05 kg/m3, far less than a depth gauge can show.
"""

from math import sqrt

# Practical salinity, about grams of salt in a kilogram of water: the open sea, and a lake.
SEA, FRESH = 35.0, 0.0
SALTIEST = 42.0
COLDEST_C, WARMEST_C = -2.0, 40.0

_PURE = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
_SALT = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
_SALT_1_5 = (-5.72466e-3, 1.0227e-4, -1.6546e-6)
_SALT_2 = 4.8314e-4


def density_kg_m3(salinity: float, temp_c: float) -> float:
    """Return the density of water at the surface in kg/m3, by practical salinity and Celsius.

    Raises ValueError outside 0 to 42 and -2 to 40 C, where the equation was fitted.
    """
    if not 0 <= salinity <= SALTIEST:
        raise ValueError(f"salinity must be between 0 and {SALTIEST:g}")
    if not COLDEST_C <= temp_c <= WARMEST_C:
        raise ValueError(f"water temperature must be between {COLDEST_C:g} and {WARMEST_C:g} C")
    pure, salt, more = (_polynomial(row, temp_c) for row in (_PURE, _SALT, _SALT_1_5))
    return pure + salinity * (salt + more * sqrt(salinity) + _SALT_2 * salinity)


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
