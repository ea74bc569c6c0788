"""The consents a guest or a guardian gives, word for word, each with its own version.

Our own words; a local lawyer reads them before real use. A changed text gets a new version, and a consent
to an older text of the health-data consent is asked for again.
"""

from dataclasses import dataclass

from app.rules.sentences import Sentence


@dataclass(frozen=True, slots=True)
class ConsentText:
    """One consent as shown. kind: as stored. tick: what the box beside it says."""

    kind: str
    version: str
    title: str
    lines: tuple[str, ...]
    tick: str

    def coded(self) -> dict[str, str]:
        """Return each sentence under its code, which stands on every translation of it as well."""
        lines = {f"{self.kind}.{number}": line for number, line in enumerate(self.lines, 1)}
        return {f"{self.kind}.title": self.title, **lines, f"{self.kind}.tick": self.tick}


# Names the kind of data, why, who sees it, how long, how to withdraw (GDPR Art. 7 and 9, from memory).
HEALTH_DATA = ConsentText(
    "health-data",
    "2026-11",
    "Your health answers",
    (
        "We ask about your health so that we can see if you may dive with us today.",
        "The desk sees only the result. Your instructor sees what you need to talk about. "
        "One named person keeps the records and reads doctors' letters. "
        "In an emergency your instructor and the rescuers may see your answers.",
        "Answers are locked away 30 days after your dive day. "
        "They are destroyed when the law no longer asks us to keep them.",
        "You may say no. Then you cannot dive with us, and we keep no answers. Nothing else changes for you.",
        "You may take this back at any time. Tell anyone at the shop.",
    ),
    "I agree that the shop uses my health answers for this.",
)
DIVE = ConsentText(
    "dive",
    "2026-11",
    "Your dive",
    (
        "Diving has risks that care cannot take away. Ears and lungs can be hurt. People can drown.",
        "You stay with your instructor, you never hold your breath, and you may stop at any time.",
        "Your answers are true as far as you know. Tell us at once if something changes.",
    ),
    "I want to dive today, and I know that there are risks.",
)
GUARDIAN = ConsentText(
    "guardian",
    "2026-11",
    "For the parent or guardian",
    (
        "You went through the answers together with your child, as far as your child wished.",
        "Diving has risks that care cannot take away. Ears and lungs can be hurt. People can drown.",
        "Your consent counts for 30 days. You may take it back at any time. "
        "If your child does not want to dive, your child stays ashore.",
    ),
    "I agree that my child dives.",
)
# Ticks of their own beside the guardian's consent, under their codes.
GUARDIAN_HEALTH_DATA = "I agree that the shop uses my child's health answers for this."
PARENTAL_RIGHTS = "I hold parental rights for this child."
URGENT_CARE = "If my child needs a doctor at once and I cannot be reached, the shop may arrange it."
GUARDIAN_KINDS = {"parent": Sentence("Mother or father"), "legal": Sentence("Legal guardian")}
# Offered only while a parent's written paper for this child is on file.
PAPER = "paper"
PAPER_KINDS = {PAPER: Sentence("Another adult: the shop holds a parent's written paper")}
GUARDIAN_TICKS = {
    "guardian-health-data.tick": GUARDIAN_HEALTH_DATA,
    "parental-rights.tick": PARENTAL_RIGHTS,
    "urgent-care.tick": URGENT_CARE,
}
