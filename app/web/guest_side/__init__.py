"""Guest side: the handed-over tablet, locked to one guest."""

from app.web.guest_side import form, signing

ROUTERS = (
    form.router,
    signing.router,
)
