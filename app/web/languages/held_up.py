"""What a guide holds up to guests: in which language, and which others there are to choose from."""

from dataclasses import dataclass

from app.records.groups.groups import GroupView
from app.records.guest_side.languages import Words, complete_languages, own_name, words_in
from app.records.store.problems import NotHere
from app.rules.languages import ORIGINAL
from app.web.front import Front


@dataclass(frozen=True)
class HeldUp:
    """The words of one language; each choice is a code and the language's own name, the group's own first."""

    chosen: str
    words: Words
    theirs: list[tuple[str, str]]
    others: list[tuple[str, str]]


def held_up(front: Front, view: GroupView) -> HeldUp:
    """Return the language of ``?in=de``, else the group's first foreign one; raises NotHere for others."""
    offered = complete_languages()
    said = [code for one in view.guests if one.guest for code in one.guest.languages.split()]
    theirs = tuple(dict.fromkeys(code for code in said if code in offered))
    first = next((code for code in theirs if code != ORIGINAL), ORIGINAL)
    code = front.request.query_params.get("in", first)
    if code not in offered:
        raise NotHere("no such language")
    return HeldUp(
        code,
        words_in(front.session, code),
        [(one, own_name(one)) for one in theirs],
        [(one, own_name(one)) for one in offered if one not in theirs],
    )
