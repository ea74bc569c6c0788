"""What a guest may allow apart from everything else, word for word; and what the team promises.

Neither choice has to do with diving or with health: no tick is set for the guest, and none is worked out
from anything the guest answered. Our own words; a local lawyer reads them before real use.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing a guest may allow. kind: as stored. version: of the text."""

    kind: str
    version: str
    title: str
    text: str


PHOTOS = Choice(
    "photos",
    "2026-11",
    "Photos",
    "The shop may take photos of me and show them. "
    "I may take this back at any time, and they are taken down.",
)
OFFERS = Choice(
    "offers",
    "2026-11",
    "News and offers",
    "The shop may write to me about news and offers. I may take this back at any time.",
)
CHOICES: Mapping[str, Choice] = MappingProxyType({one.kind: one for one in (PHOTOS, OFFERS)})

SECRECY_VERSION = "2026-11"
SECRECY: tuple[str, ...] = (
    "I open a guest's health answers only when my work asks for it, and say why.",
    "I tell nobody what I read, also after I have left the shop.",
    "I leave no page with health answers open, and I take no picture or copy of one.",
    "If something went wrong I tell the keeper or the manager at once.",
)
