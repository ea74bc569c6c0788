"""Keeping a picture of something: its bytes are judged and written anew, then sealed."""

import hashlib

from app.actions.act import Act, Invalid
from app.records.keep.pictures import PURPOSE, bound_to
from app.records.tables.pictures import PictureRow
from app.rules.pictures import NotAPicture, clean_picture

NONE_CHOSEN = "Choose a picture."


def keep_picture(
    act: Act, about_kind: str, about_id: int, data: bytes | None, field: str = "photo"
) -> PictureRow:
    """Keep a picture of a record; raises Invalid, beside ``field``, for what is no whole JPEG or PNG.

    The caller has made sure that the record is there; ``act.about`` is left to it.
    """
    if not data:
        raise Invalid({field: NONE_CHOSEN})
    try:
        picture = clean_picture(data)
    except NotAPicture as problem:
        raise Invalid({field: str(problem)}) from None
    digest = hashlib.sha256(picture.data).hexdigest()
    bound = bound_to(about_kind, about_id, digest)
    return act.add(
        PictureRow(
            about_kind=about_kind,
            about_id=about_id,
            content_type=picture.content_type,
            sealed=act.house.master.seal_bytes(PURPOSE, bound, picture.data),
            size_bytes=len(picture.data),
            width_px=picture.width,
            height_px=picture.height,
            digest=digest,
            by=act.actor.name,
            at=act.now,
        )
    )
