"""Facts about guests and staff, as plain values, for the gates.

None means "not known", which no gate takes for a yes. The few fields where None means "there is none"
say so.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Literal

from app.rules.flying import Flight

Where = Literal["open", "confined"]
"""Open water, or pool-like water in which a guest can stand."""


class TeachingGrade(StrEnum):
    """Level 1 and 2: ISO 24802-1 and -2. An assistant helps a guide and never leads a group."""

    LEVEL_2 = "level 2"
    LEVEL_1 = "level 1"
    ASSISTANT = "assistant"


class GuardianPlace(StrEnum):
    """Where a child's guardian is during the dive, furthest first."""

    BY_PHONE = "by phone"
    ON_SITE = "on site"
    POOLSIDE = "poolside"


@dataclass(frozen=True, slots=True)
class Engagement:
    """Another group that a person or a cylinder is in. start, end: aware UTC."""

    label: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class StaffFacts:
    """A guide or an assistant on the day.

    The three dates are the last day on which the paper counts. other_groups: None while not looked up.
    depth_cap_m, max_guests: the person's own caps, metres and guests; None means there is none.
    dives_said: whether the person said today which other dives there were in the last 24 hours.
    """

    id: str
    name: str
    grade: TeachingGrade | None
    credential_until: date | None
    cpr_o2_until: date | None
    diver_medical_until: date | None
    other_groups: tuple[Engagement, ...] | None
    depth_cap_m: float | None = None
    max_guests: int | None = None
    dives_said: bool | None = None


@dataclass(frozen=True, slots=True)
class Talk:
    """What a named instructor settled with a guest whose answers ask for a talk; it counts that day only.

    result: "GO", "GO-LIMIT" or "ASHORE". depth_cap_m and ratio_cap: None means the talk set none.
    """

    result: str
    by: str | None
    on: date | None
    depth_cap_m: float | None = None
    ratio_cap: int | None = None
    confined_only: bool = False


@dataclass(frozen=True, slots=True)
class ShoreLook:
    """What a named instructor saw of a guest on shore; it counts that day only.

    well: every point was in order. final: a point that was not stands for the whole day.
    """

    well: bool
    by: str | None
    on: date | None
    final: bool = False


@dataclass(frozen=True, slots=True)
class GuestFacts:
    """A guest on the day. age: whole years on the day of the dive.

    outcome: the health check's "CLEARED", "TALK", "INCOMPLETE", "LETTER" or "ASHORE".
    outcome_word: the same as the desk reads it; never a cause.
    talk: None means no talk was held. needs_more_care: shared language is thin, or the talk asked for it.
    guardian_consent_on, guardian_consent_until: first and last day that a minor's consent covers.
    last_surfaced_at: aware UTC; looked at only when the guest has dived today.
    flight: what the guest told of flying. look: None means that nobody looked at the guest on shore.
    """

    id: str
    name: str
    age: int | None
    outcome: str | None
    history_signed_on: date | None
    today_signed_on: date | None
    booked: bool | None
    needs_more_care: bool | None
    dives_today: int | None
    other_groups: tuple[Engagement, ...] | None
    outcome_word: str = ""
    talk: Talk | None = None
    guardian_consent_on: date | None = None
    guardian_consent_until: date | None = None
    guardian_place: GuardianPlace | None = None
    last_surfaced_at: datetime | None = None
    flight: Flight | None = None
    look: ShoreLook | None = None
