"""What is asked about an incident after its first line, in our own words: never who was to blame.

What led to what follows the chain used in published studies of diving deaths (Lippmann et al., Diving and
Hyperbaric Medicine 2020;50(2):105-114): something was there before, something set it off, something took
the diver's means away, an injury, how it ended.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Literal

FactKind = Literal["choice", "line", "note", "metres", "bar"]
Part = Literal["where", "chain", "people", "authority", "lesson"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One question. kind: how it is answered; options: the choices, by key."""

    key: str
    label: str
    kind: FactKind
    part: Part
    options: Mapping[str, str] = field(default_factory=dict)
    hint: str = ""


_NOT_KNOWN = {"other": "Something else", "not known": "Not known"}
BEFORE = {
    "nothing": "Nothing that we know of",
    "health": "Health, tiredness or medicines",
    "nerves": "Nerves",
    "practice": "Little practice yet",
    "kit": "Kit that did not fit or work",
    "plan": "The plan or the briefing",
    "water": "Weather and water",
    "people": "How many we were, and where",
    **_NOT_KNOWN,
}
TRIGGER = {
    "water": "Water in the mask or the mouth",
    "ears": "Ears or sinuses",
    "buoyancy": "Too heavy or too light",
    "gas": "Little gas left, or none",
    "kit": "Kit that stopped working",
    "sight": "Losing sight of the others",
    "current": "Current or waves",
    "effort": "Effort or being out of breath",
    "nerves": "Nerves",
    "health": "Feeling unwell",
    "object": "An animal, a line or an object",
    **_NOT_KNOWN,
}
DISABLED = {
    "nothing": "Nothing: it was put right in time",
    "ascent": "A way up too fast, or held breath",
    "gas": "No gas to breathe",
    "buoyancy": "Could not stay up, or could not stay down",
    "health": "Illness in the water",
    "surroundings": "The water or what was in it",
    "kit": "Kit",
    **_NOT_KNOWN,
}
INJURY = {
    "none": "None",
    "ear": "Ear or sinus",
    "lung": "Lung, suspected",
    "decompression": "Decompression illness, suspected",
    "water": "Water breathed in",
    "heart": "Heart, collapse or faint",
    "wound": "Wound, sting or broken bone",
    "cold": "Cold",
    **_NOT_KNOWN,
}
OUTCOME = {
    "went on": "Well, and went on with the day",
    "ashore": "Well, and stayed ashore",
    "first aid": "Looked after here",
    "doctor": "Seen by a doctor or in hospital",
    "died": "Died",
    "not known": "Not known yet",
}
YES_NO = {"yes": "Yes", "no": "No", "not sure": "Not sure yet"}

_FACTS = (
    Fact("depth", "Depth where it happened", "metres", "where"),
    Fact("pressure", "Pressure in the cylinder then", "bar", "where"),
    Fact("before", "What was there before it began", "choice", "chain", BEFORE),
    Fact("before_more", "In a line: before", "line", "chain"),
    Fact("trigger", "What set it off", "choice", "chain", TRIGGER),
    Fact("trigger_more", "In a line: what set it off", "line", "chain"),
    Fact("disabled", "What made it hard to put right", "choice", "chain", DISABLED),
    Fact("disabled_more", "In a line: what made it hard", "line", "chain"),
    Fact("injury", "Injury", "choice", "chain", INJURY),
    Fact("injury_more", "In a line: the injury", "line", "chain"),
    Fact("outcome", "How it ended", "choice", "chain", OUTCOME),
    Fact("outcome_more", "In a line: how it ended", "line", "chain"),
    Fact("witnesses", "Who saw it", "note", "people", hint="Names, and how to reach them."),
    Fact("notifiable", "Does an authority have to be told", "choice", "authority", YES_NO),
    Fact("reference", "The authority's reference", "line", "authority"),
    Fact("lesson", "What we do differently from now on", "note", "lesson"),
)
FACTS: Mapping[str, Fact] = MappingProxyType({one.key: one for one in _FACTS})
PARTS: Mapping[Part, str] = MappingProxyType(
    {
        "chain": "What led to what",
        "where": "Depth and pressure",
        "people": "Who saw it",
        "authority": "The authority",
        "lesson": "What we learn",
    }
)

STEPS: Mapping[str, str] = MappingProxyType(
    {
        "first_aid": "First aid",
        "oxygen_on": "Oxygen on",
        "oxygen_off": "Oxygen off",
        "called": "Called",
        "evacuation": "Taken away for help",
        "done": "Anything else that was done",
    }
)
"""What was done afterwards, as it is chosen."""

AUTHORITY = "authority"
WHOM: Mapping[str, str] = MappingProxyType(
    {
        "ambulance": "Ambulance",
        "coastguard": "Rescue at sea",
        "dive doctor": "Dive doctor",
        "chamber": "Pressure chamber",
        "police": "Police",
        "family": "Emergency contact",
        AUTHORITY: "The authority",
        "other": "Somebody else",
    }
)
"""Who was called."""

OXYGEN_ON, OXYGEN_OFF, CALLED = "oxygen_on", "oxygen_off", "called"
# No flow regulator gives more.
MOST_FLOW_L_MIN = 25.0


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that was done, for the sums. flow_l_min: of oxygen that was turned on."""

    kind: str
    at: datetime
    flow_l_min: float | None = None
    whom: str = ""


@dataclass(frozen=True, slots=True)
class OxygenTime:
    """Oxygen that was given: from, until (None: no end written down), litres a minute."""

    start: datetime
    end: datetime | None
    flow_l_min: float

    @property
    def litres(self) -> float | None:
        """Litres given; None while no end is written down."""
        if self.end is None:
            return None
        return self.flow_l_min * (self.end - self.start).total_seconds() / 60


def facts_in(part: Part) -> tuple[Fact, ...]:
    """Return the questions of one part of the file, in order."""
    return tuple(one for one in FACTS.values() if one.part == part)


def step_mistakes(kind: str, whom: str, what: str, flow_l_min: float | None) -> dict[str, str]:
    """Return a sentence by field for what a step still lacks: a call its person, oxygen its flow."""
    wrong = {}
    if kind == CALLED and not whom:
        wrong["whom"] = "Choose who was called."
    if kind == OXYGEN_ON and flow_l_min is None:
        wrong["flow_l_min"] = "Enter the flow in L/min."
    if kind in {"first_aid", "evacuation", "done"} and not what:
        wrong["what"] = "Enter what was done."
    return wrong


def oxygen_given(steps: Iterable[Step]) -> tuple[OxygenTime, ...]:
    """Return the times with oxygen, in order: another flow ends the one before."""
    times: list[OxygenTime] = []
    on: Step | None = None
    for step in sorted(steps, key=lambda one: one.at):
        if step.kind not in {OXYGEN_ON, OXYGEN_OFF}:
            continue
        if on is not None:
            times.append(OxygenTime(on.at, step.at, on.flow_l_min or 0.0))
        on = step if step.kind == OXYGEN_ON else None
    if on is not None:
        times.append(OxygenTime(on.at, None, on.flow_l_min or 0.0))
    return tuple(times)


def authority_told(steps: Iterable[Step]) -> datetime | None:
    """Return when the authority was first told; None while no call to it is written down."""
    return min((one.at for one in steps if one.kind == CALLED and one.whom == AUTHORITY), default=None)
