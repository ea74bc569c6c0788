"""Labels: where the codes on them lead."""

from app.actions.act import Act
from app.records.setup.shop import shop_row
from app.records.store.problems import NotHere

LABELS = {"label_address": "Address on labels"}


def set_label_address(act: Act, version: int, address: str) -> None:
    """Keep the address that labels hold from now on; raises Clash, NotHere before set-up."""
    shop = shop_row(act.session)
    if shop is None:
        raise NotHere("no shop yet")
    act.edit(shop, version, {"label_address": address}, LABELS)
    act.about = ("shop", str(shop.id))
