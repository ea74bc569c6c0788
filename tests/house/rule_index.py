"""Writes the rule index into DEVELOPERS.md:  python tests/house/rule_index.py"""

from pathlib import Path

from app.rules.index import rule_table

PAGE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- rule index -->", "<!-- end of rule index -->"


def with_index(text: str) -> str:
    """Return the page with the index as it is now."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{rule_table()}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_index(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
