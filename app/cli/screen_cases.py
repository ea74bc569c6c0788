"""Reading the cases of ``daybuoy screen``: strict, so that nothing misspelt is taken for a No."""

import json
import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any, NoReturn

from app.rules.asking import Answer
from app.rules.doctors_letter import Letter, Verdict
from app.rules.question_set import WATERS, QuestionSet
from app.rules.screening import ScreeningCase
from app.rules.screening_reasons import Computed

CASE_KEYS = (
    "id",
    "age",
    "site",
    "lang",
    "guardian",
    "hist_days",
    "today",
    "dive_date",
    "answers",
    "fly_h",
    "letter",
)
LETTER_KEYS = ("verdict", "iss", "exp", "scan", "cov")
LETTER_MAY_HAVE = ("limits",)
# A code that is absent was asked and answered No, so No itself is not written.
ANSWER_WORDS = (
    Answer.YES,
    Answer.NOT_SURE,
    Answer.MISSING,
    Answer.YES_THEN_NO,
    Answer.YES_THEN_NO_OK,
)
OLDEST = 120
MOST_DAYS = 36_500
MOST_HOURS = 8_760
_YES_NO = {"Y": True, "N": False}
_GUARDIAN = {"Y": True, "N": False, "-": None}
_LANGUAGE = {"ok": True, "draft": False}
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_LONGEST_QUOTE = 60


class UnusableInput(ValueError):
    """Input that cannot be screened; the text is one line: the case, the key and what is allowed."""


def read_cases(raw: bytes, questions: QuestionSet) -> list[tuple[str, ScreeningCase]]:
    """Return each case with its id, in the order given. Raises ``UnusableInput`` for the first fault."""
    rows = _parsed(raw)
    if not isinstance(rows, list):
        raise UnusableInput(f"the input must be a list of cases, not {_quoted(rows)}")
    return [_case(row, number, questions) for number, row in enumerate(rows, start=1)]


def _parsed(raw: bytes) -> Any:
    try:
        return json.loads(
            raw.decode("utf-8-sig"), object_pairs_hook=_without_twins, parse_constant=_no_such_number
        )
    except UnusableInput:
        raise
    except RecursionError as problem:
        raise UnusableInput("the input is nested too deeply") from problem
    except UnicodeDecodeError as problem:
        raise UnusableInput("the input must be UTF-8 text") from problem
    except ValueError as problem:
        raise UnusableInput(f"the input is not JSON: {problem}") from problem


def _without_twins(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse a key written twice: the second would silently replace the first, a Yes perhaps."""
    read: dict[str, Any] = {}
    for key, value in pairs:
        if key in read:
            raise UnusableInput(f"key {_quoted(key)} is written twice in one object")
        read[key] = value
    return read


def _no_such_number(word: str) -> NoReturn:
    raise UnusableInput(f"the input is not JSON: {word} is not a number")


def _case(row: Any, number: int, questions: QuestionSet) -> tuple[str, ScreeningCase]:
    name = row.get("id") if isinstance(row, dict) else None
    where = f"case {_quoted(name)}" if isinstance(name, str) and name else f"case number {number}"
    fields = _Fields(where, row, "", CASE_KEYS)
    case_id = fields.read("id", "a text that is not empty", lambda value: isinstance(value, str) and value)
    case = ScreeningCase(
        dive_date=fields.day("dive_date"),
        age=fields.whole("age", OLDEST),
        where=fields.word("site", {water: water for water in WATERS}),
        answers=_answers(fields, questions),
        history_signed_days=fields.whole("hist_days", MOST_DAYS),
        today_signed=fields.word("today", _YES_NO),
        language_checked=fields.word("lang", _LANGUAGE),
        guardian_consent=fields.word("guardian", _GUARDIAN),
        fly_hours=_fly_hours(fields),
        letters=_letters(fields, questions),
    )
    return str(case_id), case


def _answers(fields: "_Fields", questions: QuestionSet) -> dict[str, Answer]:
    given = fields.inner("answers", ())
    read = dict.fromkeys(questions.by_code, Answer.NO)
    for code in given.raw:
        if code not in questions.by_code:
            given.refuse(code, f"is not a question; allowed: {', '.join(questions.by_code)}")
        read[code] = given.word(code, {word.value: word for word in ANSWER_WORDS})
    return read


def _fly_hours(fields: "_Fields") -> float | None:
    value = fields.raw["fly_h"]
    if value is None:
        return None
    hours = type(value) in (int, float) and 0 <= value <= MOST_HOURS
    return float(fields.read("fly_h", f"null or a number of hours from 0 to {MOST_HOURS}", lambda _: hours))


def _letters(fields: "_Fields", questions: QuestionSet) -> tuple[Letter, ...]:
    if fields.raw["letter"] is None:
        return ()
    letter = fields.inner("letter", LETTER_KEYS, LETTER_MAY_HAVE)
    codes = questions.reason_codes.union(Computed)
    covers = letter.read("cov", "a list of reason codes", lambda value: isinstance(value, list))
    for code in covers:
        if not isinstance(code, str) or code not in codes:
            letter.refuse(
                "cov", f"must list reason codes, not {_quoted(code)}; allowed: {', '.join(sorted(codes))}"
            )
    return (
        Letter(
            verdict=letter.word("verdict", {verdict.value: verdict for verdict in Verdict}),
            issued=letter.day("iss"),
            expires=None if letter.raw["exp"] is None else letter.day("exp"),
            has_scan=letter.word("scan", _YES_NO),
            covers=frozenset(covers),
            has_limits=letter.word("limits", _YES_NO) if "limits" in letter.raw else False,
        ),
    )


class _Fields:
    """One JSON object with its place for messages; every key is known and none is missing once it is made."""

    def __init__(
        self, where: str, raw: Any, path: str, needed: Sequence[str], may_have: Sequence[str] | None = ()
    ) -> None:
        self.where = where
        self.path = path
        if not isinstance(raw, dict):
            what = f"key {_quoted(path)}" if path else "it"
            raise UnusableInput(f"{where}: {what} must be an object, not {_quoted(raw)}")
        self.raw = raw
        for key in needed:
            if key not in raw:
                self.refuse(key, "is missing")
        if may_have is None:
            return
        for key in raw:
            if key not in needed and key not in may_have:
                self.refuse(key, f"is unknown; allowed: {', '.join((*needed, *may_have))}")

    def refuse(self, key: str, text: str) -> NoReturn:
        """Raise for one key."""
        path = f"{self.path}.{key}" if self.path else key
        raise UnusableInput(f"{self.where}: key {_quoted(path)} {text}")

    def read(self, key: str, allowed: str, fits: Callable[[Any], Any]) -> Any:
        """Return the value of a key when it fits."""
        value = self.raw[key]
        if not fits(value):
            self.refuse(key, f"must be {allowed}, not {_quoted(value)}")
        return value

    def word(self, key: str, words: dict[str, Any]) -> Any:
        """Return what one of a few words stands for."""
        allowed = "one of " + ", ".join(words)
        return words[self.read(key, allowed, lambda value: isinstance(value, str) and value in words)]

    def whole(self, key: str, most: int) -> int:
        """Return a whole number from 0 to ``most``; true and false are no numbers."""
        fits = self.read(
            key, f"a whole number from 0 to {most}", lambda value: type(value) is int and 0 <= value <= most
        )
        return int(fits)

    def day(self, key: str) -> date:
        """Return a day of the calendar."""
        return date.fromisoformat(self.read(key, "a day of the calendar written YYYY-MM-DD", _is_day))

    def inner(self, key: str, needed: Sequence[str], may_have: Sequence[str] | None = None) -> "_Fields":
        """Return the object under a key; without ``may_have`` its keys are the caller's to check."""
        return _Fields(self.where, self.raw[key], key, needed, may_have)


def _is_day(value: Any) -> bool:
    if not isinstance(value, str) or not _DAY.fullmatch(value):
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


def _quoted(value: Any) -> str:
    """Return a value as JSON on one line, cut where it would hide the message."""
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    text = json.dumps(value)
    return text if len(text) <= _LONGEST_QUOTE else text[:_LONGEST_QUOTE] + "..."
