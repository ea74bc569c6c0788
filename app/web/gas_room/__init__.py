"""Gas room: cylinders, fills, the compressor, the fill plan and the gas account."""

from app.web.gas_room import (
    account,
    board,
    compressor,
    doubts,
    fill,
    fill_plan,
    give,
    inspections,
    life,
    photos,
    stock,
)

ROUTERS = (
    account.router,
    life.router,
    stock.router,
    doubts.router,
    photos.router,
    inspections.router,
    fill.router,
    compressor.router,
    fill_plan.router,
    give.router,
    board.router,
)
