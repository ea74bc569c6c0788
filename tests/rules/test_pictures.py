"""Pictures are judged by their bytes and written anew without anything that does not show them."""

import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.rules.pictures import (
    DAMAGED,
    HEIC,
    MOST_BYTES,
    MOST_PIXELS,
    MOST_SIDE_PX,
    NO_PICTURE,
    NOT_SHOWN,
    NotAPicture,
    clean_picture,
)
from tests.picture_bytes import chunk, exif, jpeg, png, segment

PLACE = b"GPS 12.345N 45.678W"


def refusal(data: bytes) -> str:
    with pytest.raises(NotAPicture) as told:
        clean_picture(data)
    return str(told.value)


def test_a_photo_keeps_its_size_and_loses_where_it_was_taken() -> None:
    picture = clean_picture(jpeg(640, 480, exif(PLACE), segment(0xFE, b"a remark"), behind=b"PK\x03\x04"))
    assert (picture.content_type, picture.width, picture.height) == ("image/jpeg", 640, 480)
    for word in (PLACE, b"Exif", b"remark", b"PK"):
        assert word not in picture.data
    assert picture.data.startswith(b"\xff\xd8\xff") and picture.data.endswith(b"\xff\xd9")


def test_the_pixels_themselves_are_not_touched() -> None:
    bare = jpeg(640, 480)
    assert clean_picture(bare).data == bare
    assert clean_picture(jpeg(640, 480, exif(PLACE))).data == bare


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("way_up", range(1, 9))
def test_which_way_up_is_the_one_thing_kept(order: str, way_up: int) -> None:
    picture = clean_picture(jpeg(640, 480, exif(PLACE, way_up, order)))
    assert (picture.width, picture.height) == ((640, 480) if way_up < 5 else (480, 640))
    assert PLACE not in picture.data
    assert (b"Exif" in picture.data) == (way_up != 1)
    # Read once more, the kept note says the same: nothing is turned twice.
    assert clean_picture(picture.data) == picture


def test_notes_of_a_camera_that_cannot_be_read_count_as_upright() -> None:
    for notes in (b"", b"II", b"MM\x00*\xff\xff\xff\xff", b"II*\x00\x08\x00\x00\x00\xff\xff"):
        picture = clean_picture(jpeg(640, 480, segment(0xE1, b"Exif\x00\x00" + notes)))
        assert (picture.width, picture.height) == (640, 480)


def test_colours_of_a_printers_jpeg_stay_readable() -> None:
    adobe = segment(0xEE, b"Adobe\x00\x64\x00\x00\x00\x00\x02" + PLACE)
    kept = clean_picture(jpeg(64, 64, adobe)).data
    assert b"Adobe" in kept and PLACE not in kept


def test_a_png_keeps_only_what_shows_it() -> None:
    words = chunk(b"tEXt", b"Comment\x00" + PLACE) + chunk(b"eXIf", PLACE)
    picture = clean_picture(png(20, 10, between=words, behind=b"<script>"))
    assert (picture.content_type, picture.width, picture.height) == ("image/png", 20, 10)
    assert picture.data == png(20, 10)


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize(("colour", "depth"), [(0, 1), (0, 16), (2, 8), (3, 4), (4, 8), (6, 16)])
def test_every_kind_of_png_is_reckoned_right(colour: int, depth: int, interlaced: bool) -> None:
    for width, height in ((1, 1), (3, 2), (9, 17), (33, 5)):
        picture = clean_picture(png(width, height, colour, depth, interlaced=interlaced))
        assert (picture.width, picture.height) == (width, height)


def test_what_is_no_picture_is_told_by_its_bytes() -> None:
    for data in (b"", b"GIF89a", b"%PDF-1.7", b"<svg/>", b"MZ\x90", b"RIFF....WEBP", b"\xff", b"\xff\xd7"):
        assert refusal(data) == NO_PICTURE
    assert refusal(b"\x00\x00\x00\x18ftypheic" + bytes(40)) == HEIC


def test_cut_off_anywhere_it_is_refused() -> None:
    for whole in (jpeg(64, 48, exif(PLACE, 6)), png(20, 10, 3, 8)):
        for length in range(8, len(whole)):
            assert refusal(whole[:length]) == DAMAGED, length


def test_a_kind_of_jpeg_that_browsers_do_not_show_is_told_so() -> None:
    assert refusal(jpeg(64, 64, frame=0xC3)) == NOT_SHOWN
    assert refusal(jpeg(64, 64, frame=0xC9)) == NOT_SHOWN
    assert refusal(jpeg(64, 64, bits=12)) == NOT_SHOWN


def test_structure_that_cannot_be_is_refused() -> None:
    end = chunk(b"IEND", b"")
    mark = png(4, 4)[:8]
    head = png(4, 4)[8:33]
    body = png(4, 4)[33 : -len(end)]
    flipped = bytearray(png(4, 4))
    flipped[20] ^= 1
    for data in (
        b"\xff\xd8\xff\xd9",
        jpeg(64, 64).replace(b"\xff\xda", b"\xff\xfe", 1),
        jpeg(0, 64),
        jpeg(64, 0),
        mark + end,
        mark + head + end,
        mark + body + head + end,
        mark + head + head + body + end,
        mark + head + body + chunk(b"PLTE", bytes(3)) + body + end,
        mark + head + chunk(b"ABCD", b"") + body + end,
        bytes(flipped),
        png(4, 4, 3, 8).replace(chunk(b"PLTE", bytes(3)), b""),
        png(4, 4, 2, 4),
        png(4, 4, 5, 8),
    ):
        assert refusal(data) == DAMAGED, data[:60]


def test_too_many_bytes_pixels_or_passes() -> None:
    assert "4 MiB" in refusal(jpeg(64, 64, behind=bytes(MOST_BYTES)))
    assert f"{MOST_SIDE_PX} on a side" in refusal(jpeg(MOST_SIDE_PX + 1, 10))
    assert "30 million" in refusal(jpeg(MOST_SIDE_PX, MOST_PIXELS // MOST_SIDE_PX + 1))
    assert clean_picture(jpeg(MOST_SIDE_PX, MOST_PIXELS // MOST_SIDE_PX)).width == MOST_SIDE_PX
    assert clean_picture(jpeg(64, 64, scans=64)).width == 64
    assert refusal(jpeg(64, 64, scans=65)) == DAMAGED


def test_a_small_file_that_unpacks_to_a_large_one_is_refused() -> None:
    """A megabyte that unpacks to a gigabyte: counted while unpacking, and stopped."""
    bomb = zlib.compress(bytes(200_000_000), 9)
    assert len(bomb) < MOST_BYTES
    assert refusal(png(20, 10, packed=bomb)) == DAMAGED
    assert "8 bits per colour" in refusal(png(6000, 5000, 6, 16, packed=b"x"))


def test_a_marker_without_end_takes_no_time() -> None:
    """Markers may be padded; padding without end must not be read again for each of its bytes."""
    padded = jpeg(64, 64)[:-2] + b"\xff" * 3_000_000 + b"\x00"
    assert refusal(padded) == DAMAGED


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
def test_random_bytes_are_refused_with_a_sentence(data: bytes) -> None:
    for mark in (b"", b"\xff\xd8", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"):
        with pytest.raises(NotAPicture):
            clean_picture(mark + data)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_a_picture_with_changed_bytes_is_kept_whole_or_refused(data: st.DataObject) -> None:
    whole = bytearray(
        data.draw(st.sampled_from([jpeg(64, 48, exif(PLACE, 6)), png(20, 10), png(9, 9, 3, 8)]))
    )
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(whole) - 1))
        match data.draw(st.sampled_from(["flip", "cut", "insert", "double"])):
            case "flip":
                whole[at] = data.draw(st.integers(0, 255))
            case "cut":
                del whole[at : at + data.draw(st.integers(1, 40))]
            case "insert":
                whole[at:at] = data.draw(st.binary(max_size=40))
            case _:
                whole[at:at] = whole[at : at + 60]
        if len(whole) < 2:
            break
    try:
        picture = clean_picture(bytes(whole))
    except NotAPicture as told:
        assert str(told)
        return
    # What is kept is kept: judged once more, it is the same picture.
    assert clean_picture(picture.data) == picture
    assert 0 < picture.width <= MOST_SIDE_PX and 0 < picture.height <= MOST_SIDE_PX


def test_sizes_are_read_where_the_standards_put_them() -> None:
    """By hand: bytes 16 to 24 of a PNG, and behind the frame's marker of a JPEG (height first)."""
    assert struct.unpack(">II", png(20, 10)[16:24]) == (20, 10)
    at = jpeg(640, 480).index(b"\xff\xc0")
    assert struct.unpack(">HH", jpeg(640, 480)[at + 5 : at + 9]) == (480, 640)
