"""Kit rail: sizes out and back, care, size charts, stocktakes."""

from app.web.kit_rail import care, chart, party, rail, scan, stock, stocktake, suit

ROUTERS = (
    care.router,
    chart.router,
    party.router,
    scan.router,
    stocktake.router,
    suit.router,
    stock.router,
    rail.router,
)
