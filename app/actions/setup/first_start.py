"""The very first start: the shop's name and its first manager, with a code from the shop computer."""

import hmac
import secrets
from zoneinfo import available_timezones

from app.actions.act import Act
from app.actions.setup.sign_in import hash_secret, judge_passphrase
from app.records.setup import visits
from app.records.store.house import House
from app.records.tables.house import ShopRow
from app.records.tables.people import PersonRow

CODE_FILE = "first-code"


def show_code(house: House) -> str | None:
    """Return the one-time code for the first manager, making it once; None when the shop has a manager."""
    with house.store.reading() as session:
        if visits.has_manager(session):
            return None
    path = house.settings.data / CODE_FILE
    if not path.exists():
        path.touch(mode=0o600)
        path.write_text("-".join(f"{secrets.randbelow(10000):04d}" for _ in range(3)))
    return path.read_text().strip()


def make_first_manager(
    act: Act, shop_name: str, timezone: str, name: str, passphrase: str, code: str
) -> dict[str, str]:
    """Set up the shop and its first manager; return sentences by field instead when something is wrong."""
    errors: dict[str, str] = {}
    expected = show_code(act.house)
    if expected is None or not hmac.compare_digest(code.strip(), expected):
        errors["code"] = (
            "This is not the code that the shop computer shows. Look at its window and type it again."
        )
    if timezone not in available_timezones():
        errors["timezone"] = "Write the time zone as region and city, for example Europe/Lisbon."
    if (sentence := judge_passphrase(passphrase, shop_name)) is not None:
        errors["passphrase"] = sentence
    if errors:
        return errors
    act.add(ShopRow(name=shop_name, timezone=timezone))
    act.add(PersonRow(name=name, roles="manager", passphrase_hash=hash_secret(act.house, passphrase)))
    (act.house.settings.data / CODE_FILE).unlink(missing_ok=True)
    return {}
