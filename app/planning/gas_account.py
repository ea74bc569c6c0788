"""The account of a shop's gas: what was in the cylinders, what came in, where it went, what is missing.

Gas is counted as mass, in litres of dry air at 1.01325 bar and 15 C, so that warm and cold gauges may be
added up. A gauge tells the mass only together with the gas temperature. Where nobody measured that, it is
taken to be ``temp_c`` of the event, and anything between the last known temperature and a shop's 15 to
25 C is thought possible: only what no such temperature and no rounding of the gauge explains is a loss.
The rest stands in a column of its own, so that for each cylinder and for all of them

    opening + first read + filled + found - breathed - drained - given - lost + gauge and heat = closing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from app.planning import air
from app.planning.water import STANDARD_SURFACE_BAR

# What a shop's air may do to a cylinder that stands in it, in C (our own).
SHOP_COLDEST_C, SHOP_WARMEST_C = 15.0, 25.0
SHOP_USUAL_C = 20.0
# Shop gauges are read to about this, in bar (from memory).
GAUGE_READS_TO_BAR = 5.0
# Litres of the reference air times this are litres of it at exactly 1 bar and 15 C.
BAR_PER_REFERENCE = 1.01325


class Kind(StrEnum):
    """What happened to a cylinder."""

    FILL = "fill"
    READ = "read"
    START = "start"
    END = "end"
    DRAIN = "drain"
    OUT = "out"
    BANK = "bank"
    GAVE = "gave"


class Flow(StrEnum):
    """Which column of the account an amount belongs to."""

    FIRST = "first read"
    FILLED = "filled"
    BREATHED = "breathed"
    DRAINED = "drained"
    GIVEN = "given to cylinders"
    LOST = "lost"
    FOUND = "found"
    UNSURE = "gauge and heat"


@dataclass(frozen=True)
class Event:
    """One thing that happened to a cylinder.

    bar: gauge after it. from_bar: gauge before a fill. temp_c: gas temperature. measured: whether somebody
    measured that. surface_bar: the air around the gauge. OUT (given to somebody) has no gauge: what is
    missing at the next reading was breathed, unless start and end were read. BANK: a storage bank was read,
    so more in it came from the compressor. GAVE: what a bank gave to cylinders was worked out.
    """

    cylinder: str
    at: datetime
    kind: Kind
    bar: float = 0.0
    from_bar: float = 0.0
    temp_c: float = SHOP_USUAL_C
    measured: bool = False
    surface_bar: float = STANDARD_SURFACE_BAR


@dataclass(frozen=True)
class Entry:
    """One amount in one column: litres, positive for what came in. after: what the cylinder then holds."""

    cylinder: str
    at: datetime
    flow: Flow
    litres: float
    after: float
    unread: bool = False


@dataclass(frozen=True)
class Line:
    """The account of one cylinder, or of several together, over a time; litres. amounts: by column."""

    opening: float = 0.0
    closing: float = 0.0
    amounts: Mapping[Flow, float] = field(default_factory=dict)
    fills: int = 0
    unread: float = 0.0

    def of(self, flow: Flow) -> float:
        """Return the amount of a column, as a positive number but for "gauge and heat"."""
        amount = self.amounts.get(flow, 0.0)
        return -amount if flow in _OUT else amount

    @property
    def unexplained(self) -> float:
        """Closing less everything that is written down: 0 but for rounding of floats."""
        return self.closing - self.opening - sum(self.amounts.values())

    def __add__(self, other: "Line") -> "Line":
        """Return two accounts together."""
        flows = self.amounts.keys() | other.amounts.keys()
        return Line(
            self.opening + other.opening,
            self.closing + other.closing,
            {flow: self.amounts.get(flow, 0.0) + other.amounts.get(flow, 0.0) for flow in flows},
            self.fills + other.fills,
            self.unread + other.unread,
        )


_OUT = frozenset({Flow.BREATHED, Flow.DRAINED, Flow.GIVEN, Flow.LOST})


@dataclass
class _Cylinder:
    """What is known of one cylinder on the way through its events; litres None: not known yet."""

    volume: float
    litres: float | None = None
    temp_c: float = SHOP_USUAL_C
    out: bool = False

    def holds(self, bar: float, temp_c: float, surface_bar: float) -> float:
        """Return what it holds at a gauge and a temperature, in litres."""
        return self.volume * air.density(bar + surface_bar, temp_c) / air.REFERENCE_DENSITY_G_L


def bar_litres(litres: float) -> float:
    """Return litres of reference air as bar.L: what they would be at exactly 1 bar and 15 C."""
    return litres * BAR_PER_REFERENCE


def entries(events: Iterable[Event], volumes: Mapping[str, float]) -> list[Entry]:
    """Turn events in order of time into amounts. volumes: cylinder -> litres of water.

    Raises KeyError for a cylinder without a volume, ValueError outside what air is known for.
    """
    known: dict[str, _Cylinder] = {}
    found: list[Entry] = []
    for event in events:
        one = known.setdefault(event.cylinder, _Cylinder(volumes[event.cylinder]))
        if event.kind is Kind.OUT:
            one.out = True
        elif event.kind is Kind.FILL:
            found += _before_a_fill(one, event)
            found.append(_to(one, event, Flow.FILLED, one.holds(event.bar, event.temp_c, event.surface_bar)))
            one.out, one.temp_c = False, event.temp_c
        else:
            found += _read(one, event)
    return found


def account(
    amounts: Iterable[Entry], first: datetime, after: datetime, cylinders: Iterable[str] = ()
) -> dict[str, Line]:
    """Return the account of each cylinder from one instant to before another, by cylinder.

    cylinders: those that shall have a line even when nothing is known of them.
    """
    opening: dict[str, float] = dict.fromkeys(cylinders, 0.0)
    closing = dict(opening)
    sums: dict[str, dict[Flow, float]] = {}
    fills: dict[str, int] = {}
    unread: dict[str, float] = {}
    for entry in amounts:
        if entry.at >= after:
            continue
        closing[entry.cylinder] = entry.after
        if entry.at < first:
            opening[entry.cylinder] = entry.after
            continue
        opening.setdefault(entry.cylinder, 0.0)
        mine = sums.setdefault(entry.cylinder, {})
        mine[entry.flow] = mine.get(entry.flow, 0.0) + entry.litres
        fills[entry.cylinder] = fills.get(entry.cylinder, 0) + (entry.flow is Flow.FILLED)
        unread[entry.cylinder] = unread.get(entry.cylinder, 0.0) - (entry.litres if entry.unread else 0.0)
    return {
        one: Line(opening[one], closing[one], sums.get(one, {}), fills.get(one, 0), unread.get(one, 0.0))
        for one in closing
    }


def _read(one: _Cylinder, event: Event) -> list[Entry]:
    """A gauge was read: its figure counts from now on; what differs from before goes into its column."""
    now = one.holds(event.bar, event.temp_c, event.surface_bar)
    less = one.litres is not None and now < one.litres
    unread = one.out and event.kind is Kind.READ and less
    if one.litres is None:
        flow = Flow.FIRST
    elif event.kind is Kind.DRAIN and less:
        flow = Flow.DRAINED
    elif event.kind is Kind.GAVE:
        flow = Flow.GIVEN
    elif unread or (event.kind is Kind.END and less):
        flow = Flow.BREATHED
    else:
        flow = _judge(one, event, now)
        if event.kind is Kind.BANK and flow is Flow.FOUND:
            flow = Flow.FILLED
    entry = _to(one, event, flow, now, unread=unread)
    if event.kind is not Kind.START:
        one.out = False
    one.temp_c = event.temp_c
    return [entry]


def _before_a_fill(one: _Cylinder, event: Event) -> list[Entry]:
    """The gauge before a fill: when heat or rounding explains it, what was known before still counts.

    The one temperature of a fill is that of the gas after it; before it the gas had the shop's.
    """
    start = Event(
        event.cylinder, event.at, Kind.READ, event.from_bar, 0.0, SHOP_USUAL_C, False, event.surface_bar
    )
    if one.litres is not None and not one.out:
        now = one.holds(start.bar, start.temp_c, start.surface_bar)
        if _judge(one, start, now) is Flow.UNSURE:
            return []
    return _read(one, start)


def _judge(one: _Cylinder, event: Event, now: float) -> Flow:
    """Say what a difference is that no dive, fill or draining explains."""
    before = now if one.litres is None else one.litres
    low = high = event.temp_c
    if not event.measured:
        low, high = min(one.temp_c, SHOP_COLDEST_C, low), max(one.temp_c, SHOP_WARMEST_C, high)
    # Warm gas shows more on the gauge: the warmest thought possible is the least gas.
    least = one.holds(max(0.0, event.bar - GAUGE_READS_TO_BAR), high, event.surface_bar)
    most = one.holds(event.bar + GAUGE_READS_TO_BAR, low, event.surface_bar)
    if before > most:
        return Flow.LOST
    return Flow.FOUND if before < least else Flow.UNSURE


def _to(one: _Cylinder, event: Event, flow: Flow, now: float, *, unread: bool = False) -> Entry:
    before = one.litres or 0.0
    one.litres = now
    return Entry(event.cylinder, event.at, flow, now - before, now, unread)
