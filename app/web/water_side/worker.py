"""The worker of the water side, at an address whose reach is the water side alone."""

from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response

router = APIRouter()
WORKER = Path(__file__).parents[3] / "static" / "water-worker.js"


@router.get("/water/worker.js", name="water_worker")
def water_worker() -> Response:
    """Hand the worker out; browsers take it over https alone. A worker reaches no further than its folder."""
    return FileResponse(WORKER, media_type="text/javascript", headers={"Cache-Control": "no-cache"})
