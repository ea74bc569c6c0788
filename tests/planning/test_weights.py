"""Lead: what each body lifts in water, against worked values, and which way the sum may move."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning import weights
from app.planning.weights import Body, Suit, Tank, Water

SEA, FRESH = Water(1025, 20), Water(1000, 20)

# Worked apart from this program: CoolProp 8.0.0 for the gas, metal at 2700 and 7850 kg/m3, a brass valve of
# 0.8 kg. Shell masses from memory: kg of lift when empty, at 50 bar and at 200 bar, in sea water.
SHELLS = (
    (11.1, "aluminium", 14.2, 1.9, 1.2, -0.7),
    (7.0, "aluminium", 9.2, 0.8, 0.3, -0.9),
    (10.0, "steel", 11.8, -0.7, -1.3, -3.0),
    (12.0, "steel", 14.5, -1.0, -1.8, -3.8),
    (15.0, "steel", 18.5, -1.4, -2.3, -4.9),
)
BREATHED = ((7, 1.20), (10, 1.71), (11.1, 1.90), (12, 2.06), (15, 2.57))
# A free gas in foam of 200 kg/m3, 80 % gas: kg of lift at 0, 5 and 12 m in sea water.
SUITS = (
    (Body(160, 55), 3, (3.5, 2.3, 1.6)),
    (Body(175, 75), 5, (7.1, 4.8, 3.3)),
    (Body(175, 75), 7, (9.9, 6.7, 4.6)),
)

bodies = st.builds(Body, st.floats(100, 220), st.floats(20, 160))
covers = st.sampled_from(sorted(weights.COVERS))
suits = st.builds(Suit, st.floats(0.5, 9), covers)
tanks = st.builds(
    Tank, st.floats(5, 18), st.sampled_from(["steel", "aluminium"]), st.just(200.0), st.just(50.0)
)
waters = st.builds(Water, st.floats(995, 1030), st.floats(4, 31))


@pytest.mark.parametrize(("litres", "material", "shell", "empty", "end", "full"), SHELLS)
def test_a_cylinder_in_sea_water(
    litres: float, material: str, shell: float, empty: float, end: float, full: float
) -> None:
    found = [weights.cylinder_lift_kg(litres, material, bar, SEA, shell) for bar in (0, 50, 200)]
    assert found == pytest.approx([empty, end, full], abs=0.06)


@pytest.mark.parametrize(("litres", "kg"), BREATHED)
def test_the_gas_breathed_is_what_a_cylinder_loses(litres: float, kg: float) -> None:
    lead = weights.suggest(Body(175, 75), Suit(5), Tank(litres, "steel", 200, 50), SEA)
    assert lead.heavier_at_start_kg == pytest.approx(kg, abs=0.006)


@pytest.mark.parametrize(("body", "mm", "lifts"), SUITS)
def test_a_suit_lifts_less_the_deeper_it_is(body: Body, mm: float, lifts: tuple[float, ...]) -> None:
    found = [weights.suit_lift_kg(body, Suit(mm), SEA, depth) for depth in (0, 5, 12)]
    assert found == pytest.approx(lifts, abs=0.06)


@pytest.mark.parametrize(("density", "kg"), [(1025, 2.25), (1028.4, 2.56)])
def test_the_same_diver_lifts_more_in_sea_water(density: float, kg: float) -> None:
    # All that displaces 90 L together lifts by as much more as 90 L of this water weigh more.
    body = Body(175, 90)
    more = weights.body_lift_kg(body, Water(density, 20)) - weights.body_lift_kg(body, FRESH)
    assert more == pytest.approx(kg, abs=0.01)


def test_skin_after_mosteller_and_lead_that_displaces_some_water_itself() -> None:
    assert Body(180, 80).surface_m2 == pytest.approx(2.0)
    assert weights.suit_litres(Body(180, 80), Suit(5)) == pytest.approx(9.0)
    assert weights.suit_litres(Body(180, 80), Suit(5, "shorty")) == pytest.approx(5.0)
    # Lead loses 9 % of its weight in sea water.
    assert weights.pull_per_kg(SEA) == pytest.approx(0.91, abs=0.001)


def test_the_steps_add_up_and_are_rounded_up() -> None:
    lead = weights.suggest(Body(172, 70), Suit(7), Tank(12, "steel", 200, 50), Water(1025.5, 17))
    whats = [step.what for step in lead.steps]
    assert whats[:3] == ["body with half-full lungs", "suit, 7 mm, full", "cylinder, 12 L steel at 50 bar"]
    lift = sum(step.kg for step in lead.steps)
    assert lift == pytest.approx(1.785 + 9.511 - 1.661 + 1.5, abs=0.005)
    assert lead.exact_kg == pytest.approx(lift / (1 - 1.0255 / 11.34)) and lead.kg == 13
    assert "√(172 cm × 70 kg ÷ 3600) = 1.83 m²" in lead.steps[1].how and "−3.7 kg" in lead.steps[2].how
    light = weights.suggest(Body(172, 70), None, Tank(15, "steel", 200, 50), FRESH)
    assert light.exact_kg < 0 and light.kg == 0 and light.suit_lost_kg == 0


@given(bodies, suits, st.floats(0, 4), tanks, waters)
def test_a_thicker_suit_never_needs_less(
    body: Body, suit: Suit, more: float, tank: Tank, water: Water
) -> None:
    thick = Suit(suit.thickness_mm + more, suit.cover)
    assert weights.suggest(body, thick, tank, water).kg >= weights.suggest(body, suit, tank, water).kg
    bare, dressed = weights.suggest(body, None, tank, water), weights.suggest(body, suit, tank, water)
    assert dressed.kg >= bare.kg


@given(bodies, st.floats(0.5, 9), tanks, waters)
def test_a_suit_that_covers_more_never_needs_less(body: Body, mm: float, tank: Tank, water: Water) -> None:
    order = ("shorty", "full", "two-piece")
    kilos = [weights.suggest(body, Suit(mm, cover), tank, water).kg for cover in order]
    assert kilos == sorted(kilos)


@given(bodies, suits, tanks, st.floats(4, 31))
def test_salt_water_never_needs_less_than_fresh(body: Body, suit: Suit, tank: Tank, temp_c: float) -> None:
    fresh = weights.suggest(body, suit, tank, Water(1000, temp_c)).exact_kg
    assert weights.suggest(body, suit, tank, Water(1025, temp_c)).exact_kg > fresh


@given(bodies, suits, st.floats(5, 18), waters)
def test_the_heavier_metal_never_needs_more(body: Body, suit: Suit, litres: float, water: Water) -> None:
    steel = weights.suggest(body, suit, Tank(litres, "steel", 200, 50), water)
    assert steel.kg <= weights.suggest(body, suit, Tank(litres, "aluminium", 200, 50), water).kg


@given(bodies, suits, tanks, waters, st.floats(0, 100))
def test_a_fuller_end_never_needs_more(body: Body, suit: Suit, tank: Tank, water: Water, more: float) -> None:
    fuller = Tank(tank.litres, tank.material, 200, 50 + more)
    assert (
        weights.suggest(body, suit, fuller, water).exact_kg
        <= weights.suggest(body, suit, tank, water).exact_kg
    )
