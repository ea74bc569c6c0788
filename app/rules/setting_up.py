"""Setting a shop up, in the order in which it is quickest: what is done, and what is still missing."""

from dataclasses import dataclass

# Roles without which a day cannot be run, with what is missing without them.
NEEDED_ROLES = {
    "manager": "Nobody is the manager.",
    "desk": "Nobody works at the front desk.",
    "instructor": "Nobody is an instructor.",
    "lead": "Nobody leads a day.",
    "keeper": "Nobody keeps the health records.",
}


@dataclass(frozen=True, slots=True)
class SetupFacts:
    """The shop as it stands. sheet_printed, backed_up: the recovery sheet and any backup that went well.

    may_lead_open: somebody of the team may teach in open water today by grade and papers. kit_checked: the
    emergency kit was ever checked. encrypted: pages come over https; wifi_accepted: who accepted that
    they do not. country_chosen: somebody chose it, were it the general one.
    """

    priced: bool
    country_chosen: bool
    roles: frozenset[str]
    may_lead_open: bool
    devices: int
    sites: int
    numbers_missing: tuple[str, ...]
    kit_checked: bool
    own_limits: int
    sheet_printed: bool
    backed_up: bool
    languages: tuple[str, ...]
    cylinders: int
    kit: int
    encrypted: bool
    wifi_accepted: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step. missing: plain sentences; said: how it stands when nothing is missing."""

    key: str
    title: str
    what: str
    missing: tuple[str, ...]
    said: str

    @property
    def done(self) -> bool:
        """Whether nothing is missing."""
        return not self.missing


def steps(facts: SetupFacts) -> tuple[Step, ...]:
    """Return the steps in order. None of them keeps another one closed."""
    people = tuple(text for role, text in NEEDED_ROLES.items() if role not in facts.roles)
    if "instructor" in facts.roles and not facts.may_lead_open:
        people = (*people, "No instructor has grade and papers for open water.")
    languages = ", ".join(facts.languages)
    emergency = tuple(f"No number: {name}." for name in facts.numbers_missing)
    wifi = "" if facts.encrypted else f"Accepted by {facts.wifi_accepted}"
    return (
        Step("shop", "The shop", "Name, time zone, price, air pressure, numbers to call",
             _unless(facts.priced, "The price of a guest is 0."), "Entered"),
        Step("country", "Country", "The outermost values that the shop may set, with their sources",
             _unless(facts.country_chosen, "Nobody chose a country."), "Chosen"),
        Step("people", "People", "Who works here, roles, papers, passphrases and PINs", people,
             "Every role is somebody's"),
        Step("devices", "Devices", "Tablets, phones and laptops of the shop",
             _unless(facts.devices > 0, "No device is paired. PINs work on paired ones only."),
             f"{facts.devices} paired"),
        Step("sites", "Sites", "Water, depth, temperature, minutes until help is there",
             _unless(facts.sites > 0, "There is no site."), f"{facts.sites} in use"),
        Step("emergency", "Numbers to call and emergency kit", "Who is called, and what lies ready",
             (*emergency, *_unless(facts.kit_checked, "The emergency kit was never checked.")),
             "Numbers entered, kit checked"),
        Step("limits", "Limits", "Every value in force, who set it, where it comes from", (),
             f"{facts.own_limits} set by the shop" if facts.own_limits else "As shipped: look through them"),
        Step("backup", "Backups and the recovery sheet", "A copy somewhere else, and the words that open it",
             (*_unless(facts.sheet_printed, "The recovery sheet is not printed."),
              *_unless(facts.backed_up, "No backup was made yet.")), "Sheet printed, backups made"),
        Step("wording", "Languages of the guest side", "Which are offered, and who checked their words", (),
             f"Offered: {languages}"),
        Step("things", "Cylinders and kit", "Typed in, or taken in from a sheet",
             (*_unless(facts.cylinders > 0, "There are no cylinders."),
              *_unless(facts.kit > 0, "There is no kit.")),
             f"{facts.cylinders} cylinders, {facts.kit} pieces of kit"),
        Step("wifi", "Health answers on the shop's Wi-Fi", "Whether they travel sealed",
             _unless(facts.encrypted or bool(facts.wifi_accepted), "Answers travel open on this Wi-Fi."),
             wifi or "Pages come over https"),
    )  # fmt: skip


def _unless(met: bool, text: str) -> tuple[str, ...]:
    return () if met else (text,)
