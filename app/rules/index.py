"""The rule index: every limit and rule as a row of the developers' table."""

from app.rules import limits
from app.rules.limits import Limit
from app.rules.resolve import show

_DIRECTIONS = {"max": "at most", "min": "at least", "set": "all of"}


def rule_table() -> str:
    """Every limit in the order of `app.rules.limits`, as a Markdown table ending with a line break.

    loosest: how far a manager may loosen it; empty when not at all.
    """
    head = ("key", "what", "value", "hard", "loosest", "source")
    lines = [_line(head), _line(("---",) * len(head))]
    for limit in limits.ALL.values():
        loosest = "" if limit.outermost == limit.value else show(limit.outermost)
        cells = (f"`{limit.key}`", limit.what, _value(limit), show(limit.hard), loosest, limit.source)
        lines.append(_line(cells))
    return "\n".join(lines) + "\n"


def _value(limit: Limit) -> str:
    if limit.direction == "flag":
        return "required" if limit.value else "not required"
    return f"{_DIRECTIONS[limit.direction]} {show(limit.value)} {limit.unit}"


def _line(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
