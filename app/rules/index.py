"""The rule index: every limit and rule as a row, for the developers' table and the set-up page."""

from dataclasses import dataclass

from app.rules import limits
from app.rules.resolve import show

_DIRECTIONS = {"max": "at most", "min": "at least", "flag": "required", "set": "all of"}


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One line of the index, all words. loosest: how far a manager may loosen it; empty when not at all."""

    key: str
    what: str
    value: str
    unit: str
    direction: str
    hard: str
    may_be_tightened: str
    loosest: str
    source: str


def rule_index() -> tuple[IndexRow, ...]:
    """Every limit, in the order of `app.rules.limits`."""
    return tuple(
        IndexRow(
            limit.key,
            limit.what,
            show(limit.value),
            limit.unit,
            _DIRECTIONS[limit.direction],
            show(limit.hard),
            show(limit.may_be_tightened),
            "" if limit.outermost == limit.value else show(limit.outermost),
            limit.source,
        )
        for limit in limits.ALL.values()
    )


def rule_table() -> str:
    """The index as a Markdown table, ending with a line break."""
    head = ("key", "what", "value", "unit", "direction", "hard", "may be tightened", "loosest", "source")
    lines = [_line(head), _line(("---",) * len(head))]
    for row in rule_index():
        cells = (
            f"`{row.key}`",
            row.what,
            row.value,
            row.unit,
            row.direction,
            row.hard,
            row.may_be_tightened,
            row.loosest,
            row.source,
        )
        lines.append(_line(cells))
    return "\n".join(lines) + "\n"


def _line(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
