"""Which size to try first: our own starting chart, check against the shop's suits.

Suits and jackets differ by maker: the chart says where to begin, the guest in front of the mirror decides.
"""

from collections.abc import Mapping

from app.rules.kit import SIZES

SOURCE = "our own starting chart, check against the shop's suits"

# Children's suits by height in cm up to and including.
_CHILD_SUITS = ((134.0, "130"), (144.0, "140"), (152.0, "150"))
# (height up to and including in cm, weight up to and including in kg, size); the larger of both counts.
_BODY = (
    (155.0, 47.0, "XXS"),
    (163.0, 56.0, "XS"),
    (169.0, 65.0, "S"),
    (177.0, 75.0, "M"),
    (184.0, 87.0, "L"),
    (190.0, 100.0, "XL"),
    (196.0, 115.0, "XXL"),
)
_LARGEST = "3XL"
# Light for a child's height: above this a child's suit will not close.
_CHILD_KG = 48.0
_SMALL_FACE_CM = 150.0


def first_sizes(height_cm: float, mass_kg: float, shoe_size: float) -> Mapping[str, str]:
    """Return kind of kit -> the size to try first. Height in cm, weight in kg, European shoe size.

    A regulator has no size. Boots and fins take the shoe size, halves rounded up, within the shop's range.
    """
    body = _body(height_cm, mass_kg)
    child = next((size for most, size in _CHILD_SUITS if height_cm <= most), None)
    feet = _feet(shoe_size)
    return {
        "suit": child if child is not None and mass_kg <= _CHILD_KG else body,
        # A jacket is held by the cylinder band and straps: it follows the body, not the length of the legs.
        "jacket": body,
        "boots": feet,
        "fins": feet,
        "mask": "small" if height_cm <= _SMALL_FACE_CM else "medium",
        "regulator": "",
    }


def sizes_to_try(kind: str, first: str) -> tuple[str, ...]:
    """Return the sizes worth trying in order: the first one, then one larger. Too small never fits."""
    known = SIZES.get(kind, ())
    if first not in known:
        return (first,)
    at = known.index(first)
    return known[at : at + 2]


def _body(height_cm: float, mass_kg: float) -> str:
    order = [size for _, _, size in _BODY] + [_LARGEST]
    tall = next((at for at, (most, _, _) in enumerate(_BODY) if height_cm <= most), len(_BODY))
    heavy = next((at for at, (_, most, _) in enumerate(_BODY) if mass_kg <= most), len(_BODY))
    return order[max(tall, heavy)]


def _feet(shoe_size: float) -> str:
    known = [int(size) for size in SIZES["boots"]]
    rounded = -int(-shoe_size // 1)
    return str(min(max(rounded, known[0]), known[-1]))
