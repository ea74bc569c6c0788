"""Who comes to Harbour Steps on the three days. Everybody is invented."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Guest:
    """One invented guest. age: whole years on the day of the dive."""

    name: str
    call: str
    age: int
    height: int
    mass: int
    shoe: float
    languages: str = "en"
    # In which language the guest filled the form in.
    reads: str = "en"
    swimming: str = "some"
    # Answers that are not No, by question; a form left out is not filled in yet.
    answers: tuple[tuple[str, str], ...] = ()
    form: bool = True
    # The flight told, as days after the dive and clock; empty: not flying.
    flies: tuple[int, str] | None = None


@dataclass(frozen=True)
class Party:
    """Guests who booked together. day: -1 yesterday, 0 today, 1 tomorrow."""

    day: int
    slot: str
    contact: str
    phone: str
    guests: tuple[Guest, ...]
    walk_in: bool = False
    paid: bool = True
    end: str = ""


PARTIES = (
    # Yesterday: everybody dived but one party that did not come.
    Party(-1, "10:00", "Pella Windrow", "555 0111", (
        Guest("Pella Windrow", "Pella", 34, 168, 62, 38),
        Guest("Corin Windrow", "Corin", 36, 181, 84, 43, swimming="strong"),
    )),
    Party(-1, "10:00", "Anselm Dray", "555 0112", (
        Guest("Anselm Dray", "Anselm", 41, 176, 79, 42, "en de"),
        Guest("Britta Dray", "Britta", 39, 170, 66, 39, "de en", "de"),
    )),
    Party(-1, "14:00", "Ilse Varnholt", "555 0113", (
        Guest("Ilse Varnholt", "Ilse", 28, 166, 58, 38, "de", "de"),
        Guest("Jonte Varnholt", "Jonte", 30, 184, 81, 44, "de", "de"),
    )),
    Party(-1, "14:00", "Sorrel Haddow", "555 0114", (
        Guest("Sorrel Haddow", "Sorrel", 52, 172, 74, 40, swimming="strong"),
    )),
    Party(-1, "14:00", "Quill Ambrose", "555 0115", (
        Guest("Quill Ambrose", "Quill", 25, 178, 70, 42, form=False),
    ), paid=False, end="no-show"),
    # Today, first slot: back since a while.
    Party(0, "09:00", "Lio Castellane", "555 0121", (
        Guest("Lio Castellane", "Lio", 31, 175, 72, 42, "it en", flies=(1, "12:40")),
        Guest("Fiora Castellane", "Fiora", 29, 164, 56, 37, "it", flies=(1, "12:40")),
    )),
    Party(0, "09:00", "Gwenna Tor", "555 0122", (
        Guest("Gwenna Tor", "Gwenna", 45, 170, 68, 39),
        Guest("Perran Tor", "Perran", 19, 182, 77, 44, swimming="strong"),
    )),
    # Today, half past ten: in the water or about to be.
    Party(0, "10:30", "Henrike Sollund", "555 0123", (
        Guest("Henrike Sollund", "Henrike", 37, 172, 70, 39, "de en", "de"),
        Guest("Malte Sollund", "Malte", 40, 186, 92, 45, "de en", "de"),
    )),
    Party(0, "10:30", "Rosanna Pike", "555 0124", (
        Guest("Rosanna Pike", "Rosanna", 42, 165, 63, 38),
        Guest("Tilly Pike", "Tilly", 11, 146, 38, 36, swimming="strong"),
    )),
    # Today, afternoon: a solo, a hold, a doctor's letter, a walk-in, a family.
    Party(0, "13:30", "Emrys Calloway", "555 0125", (
        Guest("Emrys Calloway", "Emrys", 33, 179, 80, 43, swimming="strong"),
    )),
    Party(0, "13:30", "Noor Achterberg", "555 0126", (
        Guest("Noor Achterberg", "Noor", 27, 169, 61, 38, "nl en", answers=(("MIND", "Y"),)),
        Guest("Joris Achterberg", "Joris", 29, 188, 85, 46, "nl en", flies=(1, "17:30")),
    )),
    Party(0, "13:30", "Dorothea Lamb", "555 0127", (
        Guest("Dorothea Lamb", "Thea", 48, 162, 70, 38, answers=(("HART", "Y"), ("HART.c", "Y"))),
        Guest("August Lamb", "August", 50, 177, 88, 42, "nl en", "nl"),
    ), paid=False),
    Party(0, "13:30", "Kestrel Moon", "555 0128", (
        Guest("Kestrel Moon", "Kes", 22, 174, 64, 40, form=False),
    ), walk_in=True, paid=False),
    Party(0, "16:00", "Berit Nørhaven", "555 0129", (
        Guest("Berit Nørhaven", "Berit", 38, 171, 67, 39, "en", form=False),
        Guest("Svea Nørhaven", "Svea", 9, 138, 32, 34, "en", form=False),
    )),
    # Tomorrow.
    Party(1, "09:00", "Rafael Ybarra", "555 0131", (
        Guest("Rafael Ybarra", "Rafa", 35, 177, 78, 42, "es", form=False),
        Guest("Lucía Ybarra", "Lucía", 33, 163, 57, 37, "es", form=False),
        Guest("Mateo Ybarra", "Mateo", 13, 158, 47, 38, "es", form=False),
    ), paid=False),
    Party(1, "10:30", "Yusra Haddad", "555 0132", (
        Guest("Yusra Haddad", "Yusra", 30, 167, 60, 38, "ar en", form=False),
        Guest("Samir Haddad", "Samir", 34, 180, 83, 43, "ar en", form=False),
    ), paid=False),
    Party(1, "13:30", "Clemency Vane", "555 0133", (
        Guest("Clemency Vane", "Clem", 66, 165, 64, 38, form=False),
    )),
    Party(1, "13:30", "Odo Brightwater", "555 0134", (
        Guest("Odo Brightwater", "Odo", 24, 183, 79, 44, form=False),
        Guest("Isolde Brightwater", "Isolde", 24, 170, 62, 39, form=False),
        Guest("Fenn Brightwater", "Fenn", 21, 176, 71, 42, form=False),
    ), end="cancelled"),
)  # fmt: skip
SLOTS = {
    -1: (("10:00", "Long Jetty", 6), ("14:00", "Long Jetty", 6)),
    0: (
        ("09:00", "Long Jetty", 6),
        ("10:30", "Long Jetty", 6),
        ("13:30", "Long Jetty", 8),
        ("16:00", "Training Pool", 4),
    ),
    1: (("09:00", "Long Jetty", 6), ("10:30", "Quarry", 6), ("13:30", "Long Jetty", 8)),
}
