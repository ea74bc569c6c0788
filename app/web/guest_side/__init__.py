"""Guest side: the handed-over tablet, locked to one guest."""

from app.web.guest_side import form, language, own_phone, signing

ROUTERS = (
    form.router,
    language.router,
    own_phone.router,
    signing.router,
)
