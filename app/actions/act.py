"""One act of one person: one transaction, one trail entry, one use of its form's key.

Every action of the program runs inside ``acting``: it opens the one writing session, lets the action
ask the rules and write, adds the trail entry from what the session changed, stores the form's key, and
commits. An exception undoes all of it.
"""

import contextlib
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import event
from sqlmodel import Session, col, select

from app.records.keep import search_entries
from app.records.store import trail
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.base import Row
from app.records.tables.house import TrailRow, UsedKeyRow
from app.rules.decision import Decision, Reason

R = TypeVar("R", bound=Row)


@dataclass(frozen=True)
class Actor:
    """Who acts: a person of the team, a guest on the handed-over tablet, or the program itself."""

    name: str
    roles: frozenset[str] = frozenset()
    person_id: int | None = None
    guest_id: int | None = None
    device: str = ""
    device_id: int | None = None
    # The shop has ended this device; a few acts are taken from it all the same, and say so.
    ended_device: bool = False

    def role_words(self) -> str:
        """Return the roles as stored in the trail."""
        return " ".join(sorted(self.roles))


SENT_BY_ENDED = "sent from a device that the shop had ended"
PROGRAM = Actor("Daybuoy", frozenset({"program"}))


class Problem(Exception):
    """What was sent cannot be carried out; nothing was stored and everything typed is kept."""

    status = 422


class Invalid(Problem):
    """Something typed is not usable: a sentence for each field, with how to put it right."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(errors.values()))
        self.errors = dict(errors)


class Refused(Problem):
    """A rule says no; carries every reason."""

    def __init__(self, decision: Decision) -> None:
        super().__init__("; ".join(reason.text for reason in decision.reasons))
        self.decision = decision


@dataclass(frozen=True)
class Difference:
    """One value that two people changed: what was typed here and what stands at the shop."""

    label: str
    yours: str
    theirs: str


class Clash(Problem):
    """Somebody else changed the record meanwhile: both values are shown and the person chooses."""

    status = 409

    def __init__(self, differences: list[Difference], who: str, when: datetime | None) -> None:
        super().__init__(f"{who or 'Somebody'} changed this meanwhile.")
        self.differences = differences
        self.who = who
        self.when = when


class KeyReused(Problem):
    """A one-use key came back with other content."""

    status = 409


class AlreadyDone(Exception):
    """The same form came again: nothing is written twice, the first answer is given again."""

    def __init__(self, answer: str) -> None:
        super().__init__(answer)
        self.answer = answer


@dataclass(frozen=True)
class FormUse:
    """A posted form's key and a keyed digest of its content."""

    key: str
    content: str


@dataclass
class Act:
    """What an action works with: the session, who, when, and what it says about itself in the trail."""

    session: Session
    house: House
    actor: Actor
    now: datetime
    reason: str = ""
    answer: str = ""
    about: tuple[str, str] = ("", "")
    notices: list[Reason] = field(default_factory=list)

    def get(self, kind: type[R], row_id: int | None) -> R:
        """Return a row by its number; raises NotHere."""
        found = None if row_id is None else self.session.get(kind, row_id)
        if found is None:
            raise NotHere(f"{kind.__tablename__} {row_id}")
        return found

    def add(self, row: R) -> R:
        """Store a new row and give it its number."""
        self.session.add(row)
        self.session.flush()
        return row

    def allow(self, decision: Decision) -> None:
        """Go on when a rule allows it; raises Refused with every reason otherwise."""
        if not decision.allowed:
            raise Refused(decision)

    def edit(
        self, row: Row, version: int | None, values: Mapping[str, Any], labels: Mapping[str, str]
    ) -> None:
        """Change columns of a row if it is still the version that was seen; raises Clash with both values.

        ``version`` None skips the check and is only for acts that must never be refused for staleness.
        """
        held: Any = row
        if version is not None and held.version != version:
            who, when = self._last_change(row)
            raise Clash(
                [
                    Difference(labels.get(name, name), _words(value), _words(getattr(held, name)))
                    for name, value in values.items()
                    if getattr(held, name) != value
                ],
                who,
                when,
            )
        for name, value in values.items():
            setattr(held, name, value)
        held.version += 1
        self.session.add(row)
        self.session.flush()

    def _last_change(self, row: Row) -> tuple[str, datetime | None]:
        name, number = str(type(row).__tablename__), str(getattr(row, "id", ""))
        needle = f'["{name}", "{number}", '
        last = self.session.exec(
            select(TrailRow)
            .where(col(TrailRow.changes).contains(needle, autoescape=True))
            .order_by(col(TrailRow.id).desc())
            .limit(1)
        ).first()
        return (last.who, last.at) if last else ("", None)


@contextlib.contextmanager
def acting(house: House, actor: Actor, verb: str, form: FormUse | None = None) -> Iterator[Act]:
    """Run one act in one transaction; commits on leaving, undoes everything on an exception.

    Raises AlreadyDone when the form's key was used before with the same content, KeyReused with other.
    """
    now = house.clock()
    with house.store.writing() as session:
        if form is not None and (answer := earlier_answer(session, form)) is not None:
            raise AlreadyDone(answer)
        collector = trail.Collector(house.ring)
        collector.watch(session)
        search_entries.watch(session)
        act = Act(session, house, actor, now)
        yield act
        session.flush()
        entry = TrailRow(
            at=now,
            person_id=actor.person_id,
            who=actor.name,
            role=actor.role_words(),
            device=actor.device,
            act=verb,
            record=act.about[0],
            record_id=act.about[1],
            reason="; ".join(filter(None, (act.reason, SENT_BY_ENDED if actor.ended_device else ""))),
        )
        trail.add(session, house.master.named("trail"), entry, collector.changes)
        newest = (entry.id or 0, entry.chain)
        event.listen(session, "after_commit", lambda _session: house.head.note(*newest))
        if form is not None:
            session.add(UsedKeyRow(key=form.key, content=form.content, answer=act.answer, at=now))


def earlier_answer(session: Session, form: FormUse) -> str | None:
    """Return where an earlier use of this key led; None if unused; raises KeyReused for other content."""
    used = session.get(UsedKeyRow, form.key)
    if used is None:
        return None
    if used.content != form.content:
        raise KeyReused("This form was already sent with other content. Open the page again.")
    return used.answer


def content_digest(house: House, path: str, fields: list[tuple[str, str]]) -> str:
    """Return a keyed digest of what a form said (keyed, so that answers cannot be guessed from it)."""
    said = json.dumps([path, sorted(fields)], ensure_ascii=False)
    return house.master.digest("form-content", hashlib.sha256(said.encode()).hexdigest())


def _words(value: Any) -> str:
    return "" if value is None else str(value)
