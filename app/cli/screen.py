"""``daybuoy screen CASES.json``: health answers in, outcomes with their reasons out.

Reasons come worst level first (A, L, I, T), and by code in plain ASCII order within a level.
"""

import argparse
import json
import sys
from pathlib import Path

from app.cli.screen_cases import UnusableInput, read_cases
from app.records.question_sets import shipped_question_set
from app.rules.screening import screen

UNUSABLE = 2


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's one argument."""
    parser.add_argument("cases", metavar="CASES.json", help="a list of cases as JSON; - reads standard input")


def run(chosen: argparse.Namespace) -> int:
    """Screen every case and print the results in the same order; 2 and one line when a case is unusable."""
    questions = shipped_question_set()
    try:
        cases = read_cases(_content(chosen.cases), questions)
    except UnusableInput as problem:
        print(f"daybuoy screen: {problem}", file=sys.stderr)
        return UNUSABLE
    results = [(case_id, screen(case, questions)) for case_id, case in cases]
    answer = [
        {"id": case_id, "outcome": result.outcome, "reasons": [str(reason) for reason in result.reasons]}
        for case_id, result in results
    ]
    print(json.dumps(answer, indent=1))
    return 0


def _content(name: str) -> bytes:
    if name == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(name).read_bytes()
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "not a file name"
        raise UnusableInput(f"cannot read {json.dumps(name)}: {why}") from problem
