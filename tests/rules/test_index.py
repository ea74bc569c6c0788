"""The rule index that the developers' table is made from."""

from app.rules import limits
from app.rules.index import rule_index, rule_table


def test_every_limit_has_one_row_with_words_in_each_cell() -> None:
    rows = rule_index()
    assert [row.key for row in rows] == list(limits.ALL)
    assert all(row.what and row.value and row.unit and row.direction and row.source for row in rows)


def test_rows_say_what_may_be_changed() -> None:
    rows = {row.key: row for row in rule_index()}
    assert (rows["end_pressure_min"].hard, rows["end_pressure_min"].loosest) == ("yes", "")
    assert (rows["depth_plan_default"].value, rows["depth_plan_default"].loosest) == ("10", "12")
    assert rows["guardian_consent"].may_be_tightened == "no"
    assert rows["safety_diver_required"].may_be_tightened == "yes"


def test_the_table_is_markdown_with_a_row_for_each_limit() -> None:
    lines = rule_table().splitlines()
    assert len(lines) == len(limits.ALL) + 2
    assert {line.count(" | ") for line in lines[2:]} == {lines[0].count(" | ")}
    assert any(line.startswith("| `turn_pressure` | ") and " 100 | bar | at least " in line for line in lines)
