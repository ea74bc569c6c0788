"""Pictures as read: which there are of a record, and one picture's bytes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.store.problems import NotHere
from app.records.store.sealing import MasterKey
from app.records.tables.pictures import PictureRow

PURPOSE = "pictures"


@dataclass(frozen=True)
class PictureView:
    """One picture without its bytes. width, height: as it is shown, in pixels."""

    id: int
    about_kind: str
    about_id: int
    content_type: str
    width: int
    height: int
    by: str
    at: datetime

    @property
    def href(self) -> str:
        """Where the picture itself is."""
        return f"/pictures/{self.id}"


def pictures_of(session: Session, kind: str, ids: Iterable[int]) -> dict[int, list[PictureView]]:
    """Return the pictures of several records of one kind, newest first, by record number."""
    row = PictureRow
    found = (
        select(
            col(row.id), col(row.about_id), col(row.content_type), col(row.width_px), col(row.height_px),
            col(row.by), col(row.at),
        )  # type: ignore[call-overload]
        .where(row.about_kind == kind, col(row.about_id).in_(list(ids)))
        .order_by(col(row.id).desc())
    )  # fmt: skip
    views: dict[int, list[PictureView]] = {}
    for number, about, content_type, width, height, by, at in session.exec(found):
        view = PictureView(number, kind, about, content_type, width, height, by, at)
        views.setdefault(about, []).append(view)
    return views


def picture(session: Session, picture_id: int) -> PictureRow:
    """Return one picture's row; raises NotHere."""
    row = session.get(PictureRow, picture_id)
    if row is None:
        raise NotHere(f"picture {picture_id}")
    return row


def bytes_of(master: MasterKey, row: PictureRow) -> bytes:
    """Return the picture's bytes; raises Sealed when they were changed or moved."""
    return master.open_bytes(PURPOSE, bound_to(row.about_kind, row.about_id, row.digest), row.sealed)


def bound_to(about_kind: str, about_id: int, digest: str) -> str:
    """Return what a picture's seal is bound to."""
    return f"{about_kind}\n{about_id}\n{digest}"
