"""Which columns a sheet of cylinders and a sheet of kit have, and what holds over a whole row."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from app.rules import inspection
from app.rules import limits as L
from app.rules.cylinders import VALVES
from app.rules.kit import SERVICED, SIZES
from app.rules.sheet_cells import choice_in, date_in, number_in, whole_in, words_in
from app.rules.sheet_rows import Column, Kind

MATERIALS = ("steel", "aluminium")
NUMBER_MOST, OWNER_MOST, MODEL_MOST = 20, 100, 60
SMALLEST_L, LARGEST_L = 1, 24
LOWEST_STAMP_BAR, HIGHEST_STAMP_BAR, HIGHEST_TEST_BAR = 100, 300, 500
THINNEST_MM, THICKEST_MM = 0.5, 10
SUIT = "suit"


def cylinder_sheet(today: date) -> Kind:
    """Return the columns of a sheet of cylinders; tests are not later than today."""
    visual, pressure = (
        int(str(limit.outermost)) for limit in (L.CYLINDER_VISUAL_EVERY, L.CYLINDER_PRESSURE_TEST_EVERY)
    )
    rules = {one.name.casefold(): one.key for one in inspection.ALL.values()}
    columns = (
        Column(
            "number",
            "Number",
            ("No", "Nr", "Cylinder", "Cylinder number"),
            lambda said: words_in(said, NUMBER_MOST),
            needed=True,
        ),
        Column(
            "litres",
            "Size (L)",
            ("Litres", "Liters", "Volume", "Water capacity", "Capacity"),
            lambda said: number_in(said, SMALLEST_L, LARGEST_L, "L"),
            needed=True,
            unit="L",
        ),
        Column(
            "working_pressure_bar",
            "Working pressure (bar)",
            ("WP", "Service pressure"),
            lambda said: number_in(said, LOWEST_STAMP_BAR, HIGHEST_STAMP_BAR, "bar"),
            needed=True,
            unit="bar",
        ),
        Column(
            "test_pressure_bar",
            "Test pressure (bar)",
            ("TP", "PT"),
            lambda said: number_in(said, LOWEST_STAMP_BAR, HIGHEST_TEST_BAR, "bar"),
            unit="bar",
        ),
        Column(
            "material",
            "Material",
            (),
            lambda said: choice_in(said, MATERIALS, {"alu": "aluminium", "aluminum": "aluminium"}),
            needed=True,
        ),
        Column("valve", "Valve", (), lambda said: choice_in(said, VALVES)),
        Column("owner", "Owner", (), lambda said: words_in(said, OWNER_MOST)),
        Column(
            "last_visual",
            "Last looked inside",
            ("Last visual", "Visual", "Visual inspection", "Last visual inspection"),
            lambda said: date_in(said, today),
        ),
        Column(
            "last_pressure_test",
            "Last pressure test",
            ("Pressure test", "Hydro", "Last hydro", "Hydrostatic test"),
            lambda said: date_in(said, today),
        ),
        Column(
            "visual_interval_months",
            "Looked inside every (months)",
            (),
            lambda said: whole_in(said, 1, visual, "months"),
            unit="months",
        ),
        Column(
            "pressure_interval_months",
            "Pressure test every (months)",
            (),
            lambda said: whole_in(said, 1, pressure, "months"),
            unit="months",
        ),
        Column(
            "inspection", "Inspection rules", (), lambda said: choice_in(said, list(inspection.ALL), rules)
        ),
    )
    return Kind(columns, "number", _cylinder_holds)


def kit_sheet() -> Kind:
    """Return the columns of a sheet of kit."""
    columns = (
        Column(
            "number", "Number", ("No", "Nr", "Item"), lambda said: words_in(said, NUMBER_MOST), needed=True
        ),
        Column(
            "kind", "Kind", ("What", "Type"), lambda said: choice_in(said, list(SIZES), _MANY), needed=True
        ),
        Column("size", "Size", (), lambda said: words_in(said, NUMBER_MOST)),
        Column(
            "thickness_mm",
            "Thickness (mm)",
            ("Neoprene",),
            lambda said: number_in(said, THINNEST_MM, THICKEST_MM, "mm"),
            unit="mm",
        ),
        Column("model", "Model", (), lambda said: words_in(said, MODEL_MOST)),
        Column("service_due", "Service counts until", ("Service due", "Next service"), date_in),
    )
    return Kind(columns, "number", _kit_holds)


_MANY = {"suits": "suit", "jackets": "jacket", "masks": "mask", "regulators": "regulator"}


def _cylinder_holds(values: Mapping[str, Any]) -> list[tuple[str, str]]:
    working, test = values.get("working_pressure_bar"), values.get("test_pressure_bar")
    if working is not None and test is not None and test <= working:
        return [
            ("test_pressure_bar", "The test pressure is above the working pressure. Read both off again.")
        ]
    return []


def _kit_holds(values: Mapping[str, Any]) -> list[tuple[str, str]]:
    kind = values.get("kind")
    if kind is None:
        return []
    wrong = []
    sizes, size = SIZES[kind], values.get("size", "")
    if sizes and size not in sizes:
        wrong.append(("size", f"Write one of: {', '.join(sizes)}."))
    if not sizes and size:
        wrong.append(("size", f"A {kind} has no size here. Leave it empty."))
    thick = values.get("thickness_mm")
    if kind == SUIT and thick is None:
        wrong.append(("thickness_mm", "A suit needs its thickness in mm."))
    if kind != SUIT and thick is not None:
        wrong.append(("thickness_mm", "Only suits have a thickness. Leave it empty."))
    if kind in SERVICED and values.get("service_due") is None:
        wrong.append(("service_due", f"A {kind} needs the day until which its service counts."))
    return wrong
