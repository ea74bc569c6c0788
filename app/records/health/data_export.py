"""Everything the shop holds about one guest, opened once, for handing out on request."""

import base64
import json
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from app.records.guest_side.aftercare import ANSWERS as EXIT_CHECK
from app.records.guest_side.aftercare import DONE
from app.records.guest_side.languages import words_shown
from app.records.health.health import standing_of
from app.records.health.health_answers import WORDS
from app.records.health.health_forms import DRAWING, open_sheet, owner, questions_of
from app.records.health.health_rows import consents_of, letters_of
from app.records.health.letters import bytes_of
from app.records.health.retention import record_of, requests_of
from app.records.setup.shop import the_shop
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.store.trail import plain
from app.records.tables.aftercare import AftercareCardRow, ExitCareRow, ExitCheckRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.health import HealthFormRow, HealthReadRow, TalkRow
from app.records.tables.health_day import ShoreLookRow
from app.records.tables.letters import LetterScanRow
from app.records.tables.parties import GuestRow
from app.records.tables.phone_links import PhoneLinkRow
from app.records.tables.privacy import StageRow
from app.records.tables.water import WaterEventRow
from app.records.welcome.bookings import party_view
from app.rules.asking import answer_to

UNREADABLE = "cannot be read"
# Under which names the shore look and the exit check are sealed.
SHORE_LOOK = "shore-look"
# What ties a row to the shop's own records and says nothing of the guest.
OWN_NUMBERS = ("guest_id", "group_id", "by_id")
Part = dict[str, Any]


def everything(session: Session, house: House, guest: GuestRow, now: datetime) -> Part:
    """Return what the shop holds about a guest, as JSON can hold it, without a word of any other guest."""
    party = party_view(session, guest.party_id)
    shop = the_shop(session)
    alone = len(party.guests) == 1
    return {
        "shop": shop.name,
        "made_at": plain(now),
        "guest": {
            "reference": guest.ref,
            "full_name": guest.full_name,
            "called": guest.call_name,
            "born": plain(guest.birth_date),
            "height_cm": guest.height_cm,
            "weight_kg": guest.mass_kg,
            "shoe_size": guest.shoe_size,
            "languages": guest.languages,
            "swimming": guest.swimming,
            "flight": guest.flight_told,
            "flight_at": plain(guest.flight_at),
            "booking": guest.state,
        },
        "day": plain(party.slot.slot.day),
        "place": party.slot.label,
        # The contact may be another guest: told only where nobody else is in the party, or it is this guest.
        "contact": {
            "name": party.party.contact_name,
            "phone": party.party.phone,
            "mail": party.party.email,
            "in_an_emergency": f"{party.party.emergency_name} {party.party.emergency_phone}".strip(),
        }
        if alone or party.party.contact_name.casefold() == guest.full_name.casefold()
        else None,
        "outcome": standing_of(session, house, guest, party.slot.slot.day).word,
        "stage": _stages(session, guest, shop.day_of(now)),
        "forms": [_form(session, house, row) for row in _rows(session, HealthFormRow, guest.ref)],
        "consents": [_consent(house, guest, row) for row in consents_of(session, guest.ref)],
        "talks": _plain_rows(_rows(session, TalkRow, guest.ref), ("about", "by_id")),
        "looks_on_shore": [
            {
                "day": plain(row.day),
                "well": row.well,
                "points": _open(house, guest, SHORE_LOOK, row.points).strip(),
                "by": row.by,
            }
            for row in _rows(session, ShoreLookRow, guest.ref)
        ],
        "letters": [
            {
                "doctor": _json(_open(house, guest, "doctor", row.doctor)),
                "verdict": _open(house, guest, "verdict", row.verdict),
                "covers": _open(house, guest, "covers", row.covers),
                "limits": _open(house, guest, "limits", row.limits),
                "issued": plain(row.issued),
                "expires": plain(row.expires),
                "recorded_by": row.recorded_by,
            }
            for row in letters_of(session, guest.ref)
        ],
        "scans": [_scan(house, row) for row in _rows(session, LetterScanRow, guest.ref)],
        "dives": _dives(session, guest),
        "after_the_dive": [
            {
                "at": plain(row.at),
                "answers": _json(_open(house, guest, EXIT_CHECK, row.answers)),
                "by": row.by,
                "what_was_done": [
                    {"at": plain(one.at), "done": _json(_open(house, guest, DONE, one.done)), "by": one.by}
                    for one in session.exec(select(ExitCareRow).where(ExitCareRow.check_id == row.id))
                ],
            }
            for row in session.exec(select(ExitCheckRow).where(ExitCheckRow.guest_id == guest.id))
        ],
        "aftercare_cards": _plain_rows(_of_guest(session, AftercareCardRow, guest), OWN_NUMBERS),
        "links_to_the_form": _plain_rows(
            _of_guest(session, PhoneLinkRow, guest), ("guest_id", "token_hash", "version")
        ),
        "requests": _plain_rows(requests_of(session, guest.ref), ("by_id",)),
        "who_looked": [
            {"at": plain(row.at), "who": row.who, "role": row.role, "what": row.kind, "why": row.why}
            for row in own_looks(session, guest)
        ],
    }


def own_looks(session: Session, guest: GuestRow) -> list[HealthReadRow]:
    """Return every look at a guest's health record, oldest first."""
    return _rows(session, HealthReadRow, guest.ref)


def _form(session: Session, house: House, row: HealthFormRow) -> Part:
    questions, sheet = questions_of(session, row), open_sheet(house, row)
    # The very words that stood on the page, in the guest's language; the original's stand in its version.
    kept = words_shown(session, row.words_digest) if row.words_digest else None
    words = {} if kept is None else json.loads(kept.words)
    answers: Any = UNREADABLE
    if questions is not None and sheet is not None:
        answers = [
            {
                "code": one.code,
                "question": words.get(one.code, one.text),
                "answer": WORDS[answer_to(one, sheet.answers)],
            }
            for one in questions.questions
            if one.code in sheet.answers
        ]
    return {
        "questions": row.question_version,
        "language": row.language,
        "text": row.text_status,
        "started_at": plain(row.started_at),
        "history_signed_at": plain(row.history_signed_at),
        "signed_for": plain(row.today_signed_for),
        "signed_as": _opened(house, row.guest_ref, "signature", row.signature),
        "drawn": _json(_opened(house, row.guest_ref, DRAWING, row.drawing)),
        "hours_to_flying": None if sheet is None else sheet.fly_hours,
        "answers": answers,
    }


def _consent(house: House, guest: GuestRow, row: Any) -> Part:
    return {
        "kind": row.kind,
        "given": row.given,
        "text": row.text_version,
        "language": row.language,
        "signed_as": _open(house, guest, "signed_name", row.signed_name),
        "guardian": _json(_open(house, guest, "guardian", row.guardian)),
        "guardian_place": row.guardian_place,
        "until": plain(row.valid_until),
        "at": plain(row.at),
    }


def _scan(house: House, row: LetterScanRow) -> Part:
    try:
        content = base64.b64encode(bytes_of(house, row)).decode()
    except Sealed:
        content = UNREADABLE
    kept = {"number": row.id, "kind": row.kind, "at": plain(row.at), "type": row.content_type}
    return {**kept, "size_bytes": row.size_bytes, "base64": content}


def _dives(session: Session, guest: GuestRow) -> list[Part]:
    asked = (
        select(WaterEventRow, GroupRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(MemberRow.guest_id == guest.id)
        .order_by(col(WaterEventRow.id))
    )
    return [
        {"event": event.event, "at": plain(event.happened_at), "greatest_depth_m": group.greatest_depth_m}
        for event, group in session.exec(asked)
    ]


def _stages(session: Session, guest: GuestRow, today: date) -> Part:
    done = _plain_rows(_rows(session, StageRow, guest.ref), ("guest_ref",))
    return {"now": str(record_of(session, guest.id or 0, today).stage), "steps": done}


def _rows(session: Session, kind: Any, ref: str) -> list[Any]:
    return list(session.exec(select(kind).where(kind.guest_ref == ref).order_by(kind.id)))


def _of_guest(session: Session, kind: Any, guest: GuestRow) -> list[Any]:
    return list(session.exec(select(kind).where(kind.guest_id == guest.id).order_by(kind.id)))


def _plain_rows(rows: list[Any], without: tuple[str, ...]) -> list[Part]:
    return [
        {name: plain(getattr(row, name)) for name in type(row).model_fields if name not in ("id", *without)}
        for row in rows
    ]


def _open(house: House, guest: GuestRow, field: str, sealed: str) -> str:
    return _opened(house, guest.ref, field, sealed)


def _opened(house: House, ref: str, field: str, sealed: str) -> str:
    try:
        return house.ring.open(owner(ref), field, sealed) if sealed else ""
    except (Sealed, ValueError):
        return UNREADABLE


def _json(text: str) -> Any:
    try:
        return json.loads(text) if text else None
    except ValueError:
        return text
