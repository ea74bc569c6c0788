"""The rule index of the developers' page is what the rules say now."""

from tests.house.rule_index import PAGE, with_index


def test_the_rule_index_is_not_stale() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text == with_index(text), "run: make rule-index"
    assert "`turn_pressure`" in text
