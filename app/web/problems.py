"""From what went wrong to an answer: every status is a page of ours with what to do."""

from collections.abc import Callable
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from app.actions.act import AlreadyDone, KeyReused
from app.actions.setup.sign_in import TooOften
from app.records.store.db import StoreTrouble, is_full, is_ours
from app.records.store.problems import NotHere
from app.web.front import guest_words
from app.web.guard import TooBig
from app.web.pages import templates
from app.web.posted import BadForm, Forged
from app.web.uploads import say_bytes, upload_of
from app.web.visiting import GuestOver, SignInFirst

GUEST_SIDE = "/guest"
GUEST_DONE = "/guest/done"
# These come from the outermost layer: no handler may wrap them.
ABOUT_THE_STORE = (StoreTrouble, Exception)
Handler = Callable[[Request, Any], Response]


def answer(
    request: Request, status: int, what: str = "", title: str = "", wait: int | None = None, home: str = "/"
) -> Response:
    """Return our page for a status; texts left empty are the usual ones of that status.

    home: where its one link leads. A guest reads plainer words, in the guest's own language.
    """
    reference = getattr(request.state, "reference", "")
    headers = {"Retry-After": str(wait)} if wait else None
    words = guest_words(request)
    if words is not None:
        page = templates().get_template("guest_side/answer.html")
        text = page.render(status=status, reference=reference, wait=wait, language=words)
        return HTMLResponse(text, status_code=status, headers=headers)
    page = templates().get_template("_shared/answer.html")
    text = page.render(
        status=status,
        reference=reference,
        shop_name="",
        wait=wait,
        said_title=title,
        said=what,
        home=home,
    )
    return HTMLResponse(text, status_code=status, headers=headers)


def install(app: FastAPI) -> None:
    """Tell the application which page answers which trouble."""

    def not_here(request: Request, _error: Any) -> Response:
        return answer(request, 404)

    def sign_in_first(request: Request, _error: Any) -> Response:
        if request.method == "GET":
            return RedirectResponse("/sign-in", status_code=303)
        return answer(
            request,
            403,
            "Nothing was stored. Sign in, go back to the form and send it again.",
            "You are signed out",
        )

    def forged(request: Request, _error: Any) -> Response:
        return answer(request, 403)

    def already_done(_request: Request, error: Any) -> Response:
        return RedirectResponse(error.answer, status_code=303)

    def reused(request: Request, error: Any) -> Response:
        return answer(request, 409, str(error))

    def bad_form(request: Request, error: Any) -> Response:
        return answer(request, error.status, str(error))

    def invalid(request: Request, _error: Any) -> Response:
        # A number in an address that is no number: that page is not here.
        return answer(request, 404)

    def http(request: Request, error: Any) -> Response:
        return answer(request, error.status_code if error.status_code in (403, 404, 405, 413) else 404)

    def too_often(request: Request, error: Any) -> Response:
        return answer(request, 429, wait=error.seconds)

    def store(request: Request, error: Any) -> Response:
        if is_ours(error):
            raise error
        return answer(request, 507 if is_full(error) else 503)

    def too_big(request: Request, error: Any) -> Response:
        upload = upload_of(request)
        if upload is not None and error.most == upload.whole:
            most = say_bytes(upload.most_bytes)
            return answer(
                request, 413, f"A file here may hold {most}. Choose a smaller one and send it again."
            )
        most = say_bytes(error.most)
        return answer(request, 413, f"A form may hold {most}. Shorten the longest text and send it again.")

    def ours(request: Request, _error: Any) -> Response:
        return answer(request, 500)

    def guest_over(request: Request, _error: Any) -> Response:
        words = guest_words(request, lapsed=True)
        said = "" if words is None or words.original else f"?in={words.code}"
        return RedirectResponse(f"{GUEST_DONE}{said}", status_code=303)

    handlers: dict[type[Exception], Any] = {
        NotHere: not_here,
        SignInFirst: sign_in_first,
        GuestOver: guest_over,
        Forged: forged,
        AlreadyDone: already_done,
        KeyReused: reused,
        BadForm: bad_form,
        RequestValidationError: invalid,
        HTTPException: http,
        TooOften: too_often,
        StoreTrouble: store,
        TooBig: too_big,
        Exception: ours,
    }
    for kind, handler in handlers.items():
        app.add_exception_handler(kind, handler if kind in ABOUT_THE_STORE else _locked(handler))


def _locked(handler: Handler) -> Handler:
    """Wrap a handler: a tablet in a guest's hands gets one plain page for everything that is not its form."""

    def handle(request: Request, error: Any) -> Response:
        own = _on_guest_side(request.url.path)
        usual = not isinstance(error, (NotHere, HTTPException, RequestValidationError))
        # The hand-over itself, tapped twice, leads on to the form.
        leads_there = isinstance(error, AlreadyDone) and _on_guest_side(error.answer)
        if (own and usual) or leads_there or guest_words(request) is None:
            return handler(request, error)
        return answer(request, 404)

    return handle


def _on_guest_side(path: str) -> bool:
    return path == GUEST_SIDE or path.startswith(f"{GUEST_SIDE}/")
