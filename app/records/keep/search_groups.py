"""Groups and their dives, found by name, place, guide and day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import and_, or_, true
from sqlmodel import Session, col, select

from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import SlotRow
from app.records.tables.people import PersonRow
from app.rules.folding import fold

# Words that say what is looked for, and find nothing by themselves.
KIND_WORDS = frozenset({"group", "groups", "dive", "dives"})
# A shorter word is part of half of all names.
PART_OF_NAME = 3


@dataclass(frozen=True)
class FoundGroup:
    """A group that was found, with its day. dived: it went in the water."""

    group_id: int
    name: str
    day: date
    slot: str
    guide: str
    dived: bool


def find_groups(session: Session, words: Sequence[str], day: date | None, most: int) -> list[FoundGroup]:
    """Return groups newest first, one more than ``most``: each word is a group's name, its place or guide."""
    wanted = [word for word in words if word not in KIND_WORDS]
    if not wanted and len(words) == 0 and day is None:
        return []
    asked = (
        select(GroupRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .order_by(col(SlotRow.starts_at).desc(), GroupRow.name)
        .limit(most + 1)
    )
    if day is not None:
        asked = asked.where(SlotRow.day == day)
    if wanted:
        asked = asked.where(or_(_named(session, " ".join(wanted)), and_(true(), *_parts(session, wanted))))
    rows = list(session.exec(asked))
    guides = _guides(session, [group.id for group, _, _ in rows])
    return [
        FoundGroup(
            group.id or 0,
            group.name,
            slot.day,
            f"{slot.clock} {site.name}",
            guides.get(group.id or 0, ""),
            group.entered_at is not None,
        )
        for group, slot, site in rows
    ]


def _named(session: Session, name: str) -> Any:
    names = session.exec(select(GroupRow.name).distinct())
    return col(GroupRow.name).in_([one for one in names if fold(one) == name])


def _parts(session: Session, words: Sequence[str]) -> list[Any]:
    names = list(session.exec(select(GroupRow.name).distinct()))
    sites = list(session.exec(select(SiteRow.id, SiteRow.name)))
    people = list(session.exec(select(PersonRow.id, PersonRow.name)))
    found = []
    for word in words:
        where = [number for number, name in sites if len(word) >= PART_OF_NAME and word in fold(name)]
        who = [number for number, name in people if len(word) >= PART_OF_NAME and word in fold(name)]
        led = select(MemberRow.group_id).where(col(MemberRow.person_id).in_(who))
        found.append(
            or_(
                col(GroupRow.name).in_([one for one in names if fold(one) == word]),
                col(SlotRow.site_id).in_(where),
                col(GroupRow.id).in_(led),
            )
        )
    return found


def _guides(session: Session, group_ids: Sequence[int | None]) -> dict[int, str]:
    asked = (
        select(MemberRow.group_id, PersonRow.name)
        .join(PersonRow, col(PersonRow.id) == MemberRow.person_id)
        .where(
            col(MemberRow.group_id).in_(group_ids),
            MemberRow.part == "guide",
            col(MemberRow.left_at).is_(None),
        )
    )
    return dict(session.exec(asked).all())
