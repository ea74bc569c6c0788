"""Where the codes that the shop prints lead: the address that phones type, and what may be wrong with it."""

import re

from app.records.kit_rail import labels
from app.web.front import Front

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")


def shop_address(front: Front) -> str:
    """Return what the manager said, else the first name of the shop's computer; no slash at its end."""
    kept, _ = labels.label_address(front.session)
    if kept:
        return kept
    settings = front.house.settings
    names = [name for name in settings.names if name.lower() not in LOOPBACK]
    port = front.request.url.port
    host = names[0] if names else front.request.url.hostname or "127.0.0.1"
    return f"{settings.scheme}://{host}{f':{port}' if port else ''}"


def address_warning(front: Front, address: str) -> str:
    """Return what is to be put right before a code is printed or scanned; "" when nothing is."""
    host = re.sub(r":\d+$", "", address.partition("://")[2])
    if host in LOOPBACK:
        return "This address leads from this computer only. Phones need the one that they type for the shop."
    if host not in front.house.settings.host_names():
        return f"The shop's computer does not answer to {host} now. Add it to DAYBUOY_NAMES before you print."
    if not address.startswith(front.house.settings.scheme):
        return (
            f"The shop answers with {front.house.settings.scheme} now. Codes with another word lead nowhere."
        )
    return ""
