"""Dry air as a real gas: its density at a pressure and temperature, and back.

Z = 1 + sum of c_ij x^i y^j with x = pressure / 100 bar and y = (T - 293.15 K) / 100 K: a fit to the
equation of state of Lemmon et al. 2000 (J Phys Chem Ref Data 29:331), within 0.0002 in Z from 268 K to
343 K and from 1 to 310 bar absolute. Outside that range the functions refuse.
"""

KELVIN_AT_0_C = 273.15
# J/(kg K): molar gas constant 8.314510 J/(mol K) over the molar mass of dry air, 28.96546 g/mol.
GAS_CONSTANT_J_KG_K = 8.314510 / 0.02896546
COEFFICIENTS = (
    (-0.035828, 0.093528, -0.063013, 0.026064),
    (0.022027, -0.002703, -0.020137, 0.019999),
    (0.002714, -0.019762, 0.034133, -0.026165),
    (-0.000807, 0.005639, -0.010259, 0.008115),
    (0.000023, -0.000481, 0.000992, -0.000821),
)
LOWEST_C, HIGHEST_C = -5.15, 69.85
HIGHEST_BAR = 310.0
HIGHEST_ASKED_BAR = 500.0
# Litres of air as counted: dry, at 1.01325 bar and 15 C.
REFERENCE_DENSITY_G_L = 1.225539


def compressibility(pressure_bar: float, temp_c: float) -> float:
    """Return Z of dry air at an absolute pressure in bar and a temperature in Celsius."""
    _check(pressure_bar, temp_c)
    return _z_and_slope(pressure_bar, temp_c)[0]


def density(pressure_bar: float, temp_c: float) -> float:
    """Return the density of dry air in g/L (= kg/m3) at an absolute pressure in bar."""
    _check(pressure_bar, temp_c)
    return _density(pressure_bar, temp_c)


def pressure_of(density_g_l: float, temp_c: float) -> float:
    """Return the absolute pressure in bar at which dry air has this density in g/L.

    A pressure that would be needed may lie beyond any cylinder: up to 400 bar the answer is then within
    0.5 %, above it within 3 %, and from 500 bar on it is refused (ValueError).
    """
    _check(0.0, temp_c)
    if density_g_l <= 0:
        return 0.0
    ideal = density_g_l * GAS_CONSTANT_J_KG_K * (temp_c + KELVIN_AT_0_C) / 1e5
    pressure = ideal
    for _ in range(40):
        z, slope = _z_and_slope(pressure, temp_c)
        step = (pressure - ideal * z) / (1 - ideal * slope)
        pressure -= step
        if abs(step) < 1e-10 * (1 + pressure):
            break
    if pressure > HIGHEST_ASKED_BAR:
        raise ValueError(f"more than {HIGHEST_ASKED_BAR:g} bar would be needed")
    return pressure


def _density(pressure_bar: float, temp_c: float) -> float:
    z = _z_and_slope(pressure_bar, temp_c)[0]
    return pressure_bar * 1e5 / (z * GAS_CONSTANT_J_KG_K * (temp_c + KELVIN_AT_0_C))


def _z_and_slope(pressure_bar: float, temp_c: float) -> tuple[float, float]:
    x = pressure_bar / 100
    y = (temp_c + KELVIN_AT_0_C - 293.15) / 100
    z, slope, power = 1.0, 0.0, 1.0
    for i, (c0, c1, c2, c3) in enumerate(COEFFICIENTS, 1):
        c = c0 + y * (c1 + y * (c2 + y * c3))
        slope += c * i * power / 100
        power *= x
        z += c * power
    return z, slope


def _check(pressure_bar: float, temp_c: float) -> None:
    if not LOWEST_C - 1e-9 <= temp_c <= HIGHEST_C + 1e-9:
        raise ValueError(f"temperature must be between {LOWEST_C:g} and {HIGHEST_C:g} C")
    if not 0 <= pressure_bar <= HIGHEST_BAR:
        raise ValueError(f"pressure must be between 0 and {HIGHEST_BAR:g} bar absolute")
