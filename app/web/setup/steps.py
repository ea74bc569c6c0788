"""Shop set-up as steps: what is done, what is missing, where each is done; the country; the open Wi-Fi."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup import shop_setup
from app.records.setup import shop as shop_records
from app.records.setup.setting_up import country_chosen, setup_facts
from app.records.store.house_certificates import certificates
from app.records.store.problems import NotHere
from app.rules import limits, presets, resolve
from app.rules.preset_change import changes
from app.rules.setting_up import Step, steps
from app.web.access import TABLE
from app.web.addresses import shop_address
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only
from app.web.setup.shop import asks_again, confirm
from app.web.sheets.codes import Code, code_of

router = APIRouter()
# Where each step is done: label, address, route it opens. The first one is the step's own.
PLACES: dict[str, tuple[tuple[str, str, str], ...]] = {
    "shop": (("The shop", "/setup/shop", "shop_page"),),
    "country": (("Country", "/setup/country", "country_page"),),
    "people": (("People", "/setup/people", "people_page"),),
    "devices": (("Devices", "/setup/devices", "devices_page"),),
    "sites": (("Sites", "/setup/sites", "sites_page"),),
    "emergency": (
        ("Numbers to call", "/setup/shop#numbers", "shop_page"),
        ("Emergency kit", "/emergency-kit", "emergency_kit"),
    ),
    "limits": (
        ("Limits", "/setup/limits", "limits_page"),
        ("Inspection rules", "/gas/tests/rules", "inspection_rules"),
    ),
    "backup": (("Backups", "/backups", "backups"),),
    "wording": (("Languages", "/languages", "languages"),),
    "things": (
        ("Cylinders from a sheet", "/sheets/cylinders", "sheets"),
        ("Kit from a sheet", "/sheets/kit", "sheets"),
        ("Sizes and needs", "/kit/chart", "size_charts"),
        ("Labels", "/labels", "labels"),
    ),
    "wifi": (("Wi-Fi", "/setup/wifi", "wifi_page"),),
}


@router.get("/setup", name="setup")
def setup(front: Desk) -> Response:
    """Show the steps of setting the shop up."""
    found = steps(setup_facts(front.session, front.house, front.today))
    places = {step.key: _places(front, step) for step in found}
    return front.page(
        "setup/setup.html",
        "Shop set-up",
        steps=found,
        places=places,
        next_step=next((step for step in found if not step.done and places[step.key]), None),
        done=sum(step.done for step in found),
    )


@router.get("/setup/country", name="country_page")
def country_page(front: Desk) -> Response:
    """Show the countries, or what choosing one of them changes."""
    return _country_page(front, front.request.query_params.get("look", ""))


@router.post("/setup/country/{key}", name="choose_country")
def choose_country(front: Desk, posted: PostedForm, key: str) -> Response:
    """Choose a country."""

    def choose(act: Act) -> None:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        shop_setup.choose_country(act, posted.edits, key)

    return front.do(
        posted,
        choose,
        then=lambda _: "/setup/country",
        again=lambda problem: _country_page(front, key, problem),
    )


@router.get("/setup/wifi", name="wifi_page")
def wifi_page(front: Desk) -> Response:
    """Show how health answers travel in the shop, and who accepted it."""
    return _wifi_page(front)


@router.post("/setup/wifi", name="accept_open_wifi")
def accept_open_wifi(front: Desk, posted: PostedForm) -> Response:
    """Note that the manager accepts that answers travel open on the Wi-Fi."""
    return front.do(
        posted,
        button_only(posted, lambda act: shop_setup.accept_open_wifi(act, posted.edits)),
        then=lambda _: "/setup/wifi",
        again=lambda problem: _wifi_page(front, problem),
    )


def _places(front: Front, step: Step) -> list[tuple[str, str]]:
    """Return the places of a step that are open to this visitor."""
    mine = front.visitor.roles
    return [
        (label, href)
        for label, href, route in PLACES[step.key]
        if route in TABLE and TABLE[route].roles & mine
    ]


def _country_page(front: Front, looked_at: str, problem: ProblemView | None = None) -> Response:
    if looked_at and looked_at not in presets.ALL:
        raise NotHere(f"country {looked_at}")
    now = front.shop.preset
    shown = presets.ALL.get(looked_at, now)
    figures = [
        (limits.ALL[key], resolve.show(value))
        for key, value in shown.values.items()
        if shown is not presets.GENERAL
    ]
    return front.page(
        "setup/country.html",
        "Country",
        problem=problem,
        presets=list(presets.ALL.values()),
        now_chosen=now,
        by=country_chosen(front.session),
        shown=shown,
        figures=figures,
        changes=changes(shop_records.own_limits(front.session), now, shown),
        show=resolve.show,
        confirm_words=presets.CONFIRM,
        asks_again=asks_again(front),
    )


def _wifi_page(front: Front, problem: ProblemView | None = None) -> Response:
    settings = front.house.settings
    return front.page(
        "setup/wifi.html",
        "Health answers on the Wi-Fi",
        problem=problem,
        row=shop_records.shop_row(front.session),
        encrypted=settings.https,
        trust=_trust(front) if settings.https else None,
    )


def _trust(front: Front) -> tuple[Code, str]:
    """Return the code that leads a phone to the shop's certificate, and the fingerprint it compares."""
    settings = front.house.settings
    safe = certificates(settings.data, settings.host_names(), front.shop.name, front.now)
    host = shop_address(front).partition("://")[2].rpartition(":")[0]
    return code_of(f"http://{host}:{settings.port + 1}/"), safe.fingerprint
