"""Pictures as the browser asks for them: true kind, never run, never kept."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.keep import pictures
from app.records.store.problems import NotHere
from app.web.access import PICTURES
from app.web.front import Desk

router = APIRouter()


@router.get("/pictures/{picture_id}", name="picture")
def picture(front: Desk, picture_id: int) -> Response:
    """Show one picture to whoever may see what it is about."""
    row = pictures.picture(front.session, picture_id)
    if not front.visitor.roles & PICTURES.get(row.about_kind, frozenset()):
        raise NotHere(f"picture {picture_id} is not for this role")
    return Response(
        pictures.bytes_of(front.house.master, row),
        media_type=row.content_type,
        # The guard's own policy comes on top: of two, both hold.
        headers={"Content-Disposition": "inline", "Content-Security-Policy": "default-src 'none'; sandbox"},
    )
