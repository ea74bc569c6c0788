"""In which language a guest is spoken to: chosen by the guest, kept with the visit."""

from app.actions.act import Act, Invalid
from app.records.guest_side.languages import complete_languages
from app.records.store.problems import NotHere
from app.records.tables.people import VisitRow
from app.rules.sentences import Sentence


def choose_language(act: Act, visit_id: int | None, code: str) -> None:
    """Speak ``code`` from now on; raises Invalid for a language that is not offered."""
    if code not in complete_languages():
        raise Invalid({"language": Sentence("Choose one of the languages.")})
    visit = act.get(VisitRow, visit_id or 0)
    if visit.kind != "guest":
        raise NotHere("not a guest's visit")
    visit.language = code
    act.session.add(visit)
    act.about = ("guest", str(visit.guest_id))
