"""The web front: one router per area of the shop's day."""

from app.web import (
    emergency_kit,
    gas_fill,
    gas_give,
    gas_room,
    gas_stock,
    groups,
    guest_side,
    health,
    plans,
    setup,
    sign_in,
    slots,
    team,
    today,
)

AREAS = (
    gas_stock.router,
    gas_fill.router,
    gas_give.router,
    gas_room.router,
    emergency_kit.router,
    groups.router,
    slots.router,
    plans.router,
    guest_side.router,
    health.router,
    setup.router,
    team.router,
    sign_in.router,
    today.router,
)
