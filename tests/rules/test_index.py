"""The rule index that the developers' table is made from."""

from app.rules import limits
from app.rules.index import rule_table

ROWS = {
    line.split("`")[1]: [cell.strip() for cell in line.strip("|").split(" | ")]
    for line in rule_table().splitlines()[2:]
}


def test_every_limit_has_one_row_with_words_in_each_cell_but_the_loosest() -> None:
    assert list(ROWS) == list(limits.ALL)
    for row in ROWS.values():
        assert len(row) == 6
        assert all(cell for place, cell in enumerate(row) if place != 4)


def test_rows_say_what_binds_and_how_far_it_may_be_loosened() -> None:
    assert ROWS["turn_pressure"][2] == "at least 100 bar"
    assert ROWS["end_pressure_min"][3:5] == ["yes", ""]
    assert (ROWS["depth_plan_default"][2], ROWS["depth_plan_default"][4]) == ("at most 10 m", "12")
    assert ROWS["guardian_consent"][2] == "required"
    assert ROWS["safety_diver_required"][2] == "not required"


def test_the_table_is_markdown() -> None:
    head, rule, first = rule_table().splitlines()[:3]
    assert head.count(" | ") == rule.count(" | ") == first.count(" | ") == 5
