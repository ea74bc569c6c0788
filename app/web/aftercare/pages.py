"""A group after its dive: each guest is asked how they are, told when they may fly, and given a card."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import aftercare as acts
from app.records.groups.groups import GroupView, group_view
from app.records.guest_side.aftercare import GuestAfter, group_after, guest_after
from app.records.guest_side.aftercare_card import card_languages, card_numbers, words_of_card
from app.records.guest_side.languages import own_name
from app.records.store.problems import NotHere
from app.records.tables.aftercare import ExitCheckRow
from app.rules.aftercare import NO, QUESTIONS, YES, may_give_card
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.welcome.flights import flying_context

router = APIRouter()
SHAPES = {"asked, nothing": "dot", "asked": "dot", "looked after": "dot", "somebody is needed": "triangle"}


@router.get("/water/{group_id}/aftercare", name="aftercare")
def aftercare(front: Desk, group_id: int) -> Response:
    """Show each guest of a group who went in: the exit check, the times to fly, the card."""
    return aftercare_page(front, group_id)


@router.post("/water/{group_id}/aftercare/{guest_id}", name="write_exit_check")
def write_exit_check(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Store what a guest says on coming out; a yes leads to whom to call."""
    cared_for(front, group_id)

    def write(act: Act) -> ExitCheckRow:
        fields = posted.fields()
        said = {one.code: fields.choice(one.code, one.words, (NO, YES), needed=False) for one in QUESTIONS}
        fields.done()
        return acts.write_exit_check(
            act, group_id, guest_id, {code: word for code, word in said.items() if word}
        )

    def then(row: ExitCheckRow) -> str:
        yes = YES in posted.values.values()
        return f"/exit-checks/{row.id}" if yes else f"/water/{group_id}/aftercare#guest-{guest_id}"

    return front.do(posted, write, then=then, again=lambda problem: aftercare_page(front, group_id, problem))


def cared_for(front: Front, group_id: int) -> GroupView:
    """Return a group whose guests this visitor looks after; raises NotHere for any other.

    Desk, lead and manager look after any group, an instructor after the own.
    """
    view = group_view(front.session, group_id)
    team = {one.row.person_id for one in (view.guide, view.assistant) if one is not None}
    own = front.visitor.has(INSTRUCTOR) and front.visitor.person_id in team
    if not (own or front.visitor.has(DESK, LEAD, MANAGER)):
        raise NotHere(f"group {group_id}")
    return view


def one_cared_for(front: Front, group_id: int, guest_id: int) -> tuple[GroupView, GuestAfter]:
    """Return a group and one of its guests who went in; raises NotHere."""
    view = cared_for(front, group_id)
    return view, guest_after(front.session, front.house, view, guest_id, front.now)


def aftercare_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    """Return the page of a group after its dive."""
    view = cared_for(front, group_id)
    guests = group_after(front.session, front.house, view, front.now)
    able = card_languages(front.session)
    return front.page(
        "aftercare/aftercare.html",
        f"After the dive: group {view.group.name}",
        problem=problem,
        view=view,
        wraps_up=may_run(front, view),
        guests=guests,
        questions=QUESTIONS,
        shapes=SHAPES,
        may_card=may_give_card(card_numbers(front.shop)),
        waiting=[one for one in guests if one.ready_for_card and (one.card is None or one.card_is_old)],
        given=[one for one in guests if one.card is not None],
        card_languages=[(code, own_name(code)) for code in able],
        own_language={one.guest.id: words_of_card(front.session, one.guest.languages).code for one in guests},
        language_name=own_name,
        may_set_up=front.visitor.has(MANAGER),
        **flying_context(front, [one.guest for one in guests], view.slot.day),
    )
