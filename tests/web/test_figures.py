"""Figures on pages: the reader's unit first, the kept one beside it, rounded to the careful side."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import escape

from app.planning.units import EVERY_OTHER, METRIC, UNITS, AsRead, Units
from app.records.tables.water import PressureRow
from app.web.fields import Fields, ShownIn
from app.web.figures import Figures
from app.web.posted import BadForm, units_shown

PSI = Figures(Units.of(["psi"]))
OTHER = Figures(EVERY_OTHER)
KEPT = Figures(METRIC)


def test_who_reads_bar_and_metres_sees_nothing_beside_them() -> None:
    said = [KEPT.bar(197.9), KEPT.bar(99.2, "up"), KEPT.metres(9.997), KEPT.degrees(16.5), KEPT.kilos(6)]
    assert [str(one) for one in said] == ["197 bar", "100 bar", "10 m", "16.5 °C", "6 kg"]
    assert str(escape(KEPT.bar(200))) == "200 bar" and str(KEPT.litres(22.41, per="min")) == "22.5 L/min"
    assert str(KEPT.bar(None)) == str(OTHER.metres("")) == "not known"


def test_who_reads_other_units_sees_the_kept_figure_in_smaller_type() -> None:
    assert str(escape(PSI.bar(200))) == "2900 psi <small>(200 bar)</small>"
    said = [PSI.bar(100, "up"), PSI.metres(8), OTHER.metres(8), OTHER.metres(9, per="min"), OTHER.kilos(6)]
    assert [str(one) for one in said] == [
        "1460 psi (100 bar)", "8 m", "26 ft (8 m)", "29 ft/min (9 m/min)", "13.2 lb (6 kg)",
    ]  # fmt: skip
    assert str(OTHER.degrees(17)) == "63 °F (17 °C)" and str(OTHER.litres(28.3168)) == "1 ft³ (29 L)"


def test_long_amounts_of_gas_are_set_apart_by_threes() -> None:
    said = [KEPT.litres(68093.2, "near"), KEPT.litres(1929, "near"), KEPT.litres(1234567, "near")]
    assert [str(one) for one in said] == ["68\u202f093 L", "1929 L", "1\u202f234\u202f567 L"]
    assert str(OTHER.litres(68093, "near")).endswith("(68\u202f093 L)")


@pytest.mark.parametrize("year", ["9" * 10, "9" * 24, "9" * 99])
def test_a_year_of_many_digits_is_a_mistake_beside_its_boxes(year: str) -> None:
    fields = Fields({"born_day": "1", "born_month": "2", "born_year": year}, {})
    assert fields.date3("born", "the birth date", date(1900, 1, 1), date(2026, 1, 1)) is None
    assert fields.errors == {"born": "Enter the birth date as day, month and year, for example 27 3 1995."}


@given(st.floats(1, 300))
def test_what_is_left_is_never_shown_larger_and_what_is_needed_never_smaller(bar: float) -> None:
    psi = UNITS["psi"]
    assert psi.kept(float(PSI.bar(bar).number)) <= bar + 1e-6 <= bar + 1
    assert psi.kept(float(PSI.bar(bar, "up").number)) >= bar - 1e-6
    assert float(KEPT.bar(bar).number) <= bar + 1e-6 and float(KEPT.bar(bar, "up").number) >= bar - 1e-6


@pytest.mark.parametrize(
    ("sentence", "spoken"),
    [
        ("Start pressure must be between 1 and 300 bar.",
         "Start pressure must be between 20 and 4350 psi (1 and 300 bar)."),
        ("at least 180 bar", "at least 2620 psi (180 bar)"),
        ("at most 9 m a minute", "at most 29 ft a minute (9 m a minute)"),
        ("Unusual. Check the gauge. It was 43 bar before.",
         "Unusual. Check the gauge. It was 620 psi (43 bar) before."),
        ("Stay 18 min, 1.5 m³, 120 mm, 4 metres", "Stay 18 min, 1.5 m³, 120 mm, 4 metres"),
        ("between 20 and 4350 psi (1 and 300 bar)", "between 20 and 4350 psi (1 and 300 bar)"),
    ],
)  # fmt: skip
def test_sentences_of_the_rules_are_said_in_the_readers_units(sentence: str, spoken: str) -> None:
    assert OTHER.spoken(sentence) == spoken
    assert KEPT.spoken(sentence) == sentence


def test_digits_that_nobody_reads_are_left_out_of_a_sentence() -> None:
    assert KEPT.spoken("Found 137.895 bar") == "Found 137.9 bar"


def read_again(figures: Figures, name: str, value: float, base: str) -> AsRead | None:
    """Send a box back untouched."""
    box = figures.box(name, value, base)
    fields = Fields({name: box.text}, {}, units_shown(box.mark))
    read = fields.reading(name, "Depth", 0, 500, base)
    fields.done()
    return read


@given(st.floats(0.1, 400), st.sampled_from(["bar", "m", "kg", "°C"]))
def test_what_stands_untouched_in_a_form_stays_the_figure_it_was(value: float, base: str) -> None:
    for figures in (KEPT, OTHER):
        read = read_again(figures, "depth_m", value, base)
        assert read is not None and read.base == pytest.approx(value, rel=1e-9)


def test_a_reading_stands_in_its_box_as_it_was_read() -> None:
    bar = UNITS["psi"].kept(2850)
    row = PressureRow(
        member_id=1, cylinder_id=1, moment="start", bar=bar, read_value=2850, read_unit="psi", by="a", at=None
    )
    assert PSI.box("bar_1", row.bar, "bar", row).text == "2850"
    assert KEPT.box("bar_1", row.bar, "bar", row).text == "196.5"
    assert str(PSI.as_read(row)) == "2850 psi (196 bar)" and str(KEPT.as_read(row)) == "196 bar (2850 psi)"


def typed(text: str, shown: str = "") -> tuple[AsRead | None, str]:
    """Return what is read from a box in which somebody typed, and the sentence beside it."""
    mark = {"p": ShownIn(UNITS[shown])} if shown else {}
    fields = Fields({"p": text}, {}, mark)
    read = fields.reading("p", "Start pressure", 1, 300, "bar")
    return read, fields.errors.get("p", "")


def test_a_bare_number_is_in_the_unit_beside_the_box_and_a_written_unit_always_counts() -> None:
    for text, shown in (("2900", "psi"), ("2900 psi", ""), ("2900PSI", ""), ("2900 psi", "psi")):
        read, wrong = typed(text, shown)
        assert read is not None and wrong == ""
        assert read.base == pytest.approx(199.948, abs=0.001) and (read.value, read.unit) == (2900, "psi")
    assert typed("200 bar", "psi")[0] == AsRead(200, 200, "bar") and typed("197,5")[0] == AsRead(
        197.5, 197.5, "bar"
    )


def test_a_number_outside_is_refused_with_the_range_and_a_hint() -> None:
    assert typed("2900") == (
        None,
        "Start pressure must be between 1 and 300 bar. If the gauge shows psi, write 2900 psi.",
    )
    assert typed("9000")[1] == "Start pressure must be between 1 and 300 bar."
    assert typed("5000", "psi")[1] == "Start pressure must be between 20 and 4350 psi (1 and 300 bar)."
    # 15 psi are more than 1 bar, so this is read as it stands.
    assert typed("15", "psi")[0] is not None
    assert typed("12", "psi")[1].endswith("If the gauge shows bar, write 12 bar.")
    assert typed("20 MPa")[1] == "Write start pressure as a number in bar, for example 150 bar."


def test_a_field_that_was_shown_in_another_unit_and_not_read_in_it_is_refused() -> None:
    fields = Fields({"p": "12"}, {}, {"p": ShownIn(UNITS["ft"])})
    fields.text("p", "the depth")
    with pytest.raises(Exception, match="changed"):
        fields.done()


@pytest.mark.parametrize("said", ["bar_1", "bar_1=furlong", "bar_1=psi:x:1", "bar_1=psi:1.2.3:1.2.3", "=psi"])
def test_marks_that_no_page_of_ours_makes_are_refused(said: str) -> None:
    with pytest.raises(BadForm):
        units_shown(said)
