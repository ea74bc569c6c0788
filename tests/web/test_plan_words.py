"""What a plan says in sentences."""

from app.web.plans.words import warnings


def test_what_everybodys_cylinder_needs_for_two_is_said_once() -> None:
    def diver(number: int, name: str) -> dict[str, object]:
        return {"id": str(number), "name": name, "reserve_in_force_bar": 60.0}

    needs = [{"key": "sharing_needs_more_than_rule", "who": str(n), "value": 53.2} for n in (1, 2, 3)]
    answer = {"divers": [diver(1, "Ann"), diver(2, "Bo"), diver(3, "Cy")], "warnings": needs}
    said = "Two people on one cylinder need 54 bar to come up. So the reserve is 60 bar for Ann, Bo and Cy."
    assert warnings(answer) == (("sharing_gas_covered", said),)
