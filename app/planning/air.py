"""Dry air as a real gas: its density at a pressure and temperature, and back.

Z = 1 + sum of c_ij r^i y^j with r = density / 100 kg/m3 and y = 293.15 K / T - 1: a virial series in the
density, so that thin air is an ideal gas exactly and a closed cylinder's pressure needs no iteration:
p = Z * density * R * T. Fitted to the equation of state of Lemmon et al. 2000 (J Phys Chem Ref Data 29:331)
as computed by CoolProp 8.0.0, from -10 to 75 C: within 0.00012 in Z and 0.03 bar up to 320 bar absolute,
within 0.0002 and 0.1 bar up to 1,000. Outside that range the functions refuse. The far end is no cylinder's
pressure: it lets a small cylinder answer that the gas asked of it would need 500 bar.
"""

from functools import lru_cache

KELVIN_AT_0_C = 273.15
# J/(kg K): molar gas constant 8.314510 J/(mol K) over the molar mass of dry air, 28.96546 g/mol.
GAS_CONSTANT_J_KG_K = 8.314510 / 0.02896546
COEFFICIENTS = (
    (-0.0303378, -0.203717, -0.0379901, 0.000702363),
    (0.0171185, -0.000185916, 0.00505114, 0.0165478),
    (-0.000685816, 0.00666546, 0.00096119, -0.0115526),
    (0.000538911, -0.00294731, 0.000041665, 0.0040998),
    (-0.0000472983, 0.000483886, -0.00020374, -0.000548908),
    (0.00000425474, -0.0000254957, 0.0000236337, 0.0000200403),
)
FIT_AT_K = 293.15
LOWEST_C, HIGHEST_C = -10.0, 75.0
HIGHEST_BAR = 1000.0
# Litres of air as counted: dry, at 1.01325 bar and 15 C.
REFERENCE_DENSITY_G_L = 1.225539
NEWTON_STEPS = 30


@lru_cache(maxsize=4096)
def density(pressure_bar: float, temp_c: float) -> float:
    """Return the density of dry air in g/L (= kg/m3) at an absolute pressure in bar.

    Answers are kept for a while: the divers of a group breathe at the same few pressures, plan after plan.
    Raises ValueError outside -10 to 75 C or 0 to 1,000 bar.
    """
    if not 0 <= pressure_bar <= HIGHEST_BAR:
        raise ValueError(f"pressure must be between 0 and {HIGHEST_BAR:g} bar absolute")
    rt, c1, c2, c3, c4, c5, c6 = _isotherm(temp_c)
    r = goal = pressure_bar / rt / 100
    # Newton on r * Z(r) = goal; pressure rises with density, and three or four steps reach rounding.
    for _ in range(NEWTON_STEPS):
        z = 1 + r * (c1 + r * (c2 + r * (c3 + r * (c4 + r * (c5 + r * c6)))))
        slope = 1 + r * (2 * c1 + r * (3 * c2 + r * (4 * c3 + r * (5 * c4 + r * (6 * c5 + r * 7 * c6)))))
        step = (r * z - goal) / slope
        r -= step
        if abs(step) <= 1e-13 * r:
            break
    return r * 100


def pressure_of(density_g_l: float, temp_c: float) -> float:
    """Return the absolute pressure in bar at which dry air has this density in g/L (0 for none left).

    Raises ValueError outside -10 to 75 C, or for a density that would need more than 1,000 bar.
    """
    rt, c1, c2, c3, c4, c5, c6 = _isotherm(temp_c)
    if density_g_l <= 0:
        return 0.0
    r = density_g_l / 100
    pressure = density_g_l * rt * (1 + r * (c1 + r * (c2 + r * (c3 + r * (c4 + r * (c5 + r * c6))))))
    # A hair of room, so that a density just found at the highest pressure is taken back.
    if pressure > HIGHEST_BAR * (1 + 1e-9):
        raise ValueError(f"pressure must be between 0 and {HIGHEST_BAR:g} bar absolute")
    return pressure


@lru_cache(maxsize=256)
def _isotherm(temp_c: float) -> tuple[float, float, float, float, float, float, float]:
    """Return R * T in bar for each g/L, and the series' six coefficients, at one temperature."""
    if not LOWEST_C <= temp_c <= HIGHEST_C:
        raise ValueError(f"temperature must be between {LOWEST_C:g} and {HIGHEST_C:g} C")
    kelvin = temp_c + KELVIN_AT_0_C
    y = FIT_AT_K / kelvin - 1
    c1, c2, c3, c4, c5, c6 = (a + y * (b + y * (c + y * d)) for a, b, c, d in COEFFICIENTS)
    return GAS_CONSTANT_J_KG_K * kelvin / 1e5, c1, c2, c3, c4, c5, c6
