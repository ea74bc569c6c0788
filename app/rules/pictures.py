"""What counts as a picture, judged by its bytes: JPEG or PNG, whole, not too large; the rest is dropped.

A picture is written anew from the parts that are needed to show it. Where it was taken, by whom, previews,
comments and whatever hangs behind its end are left out. Sources: ITU-T T.81 (JPEG), W3C PNG third edition,
TIFF 6.0 for the one figure that is kept of a camera's notes: which way up the picture is.
"""

import re
import struct
import zlib
from dataclasses import dataclass

MOST_BYTES = 4 * 1024 * 1024
MOST_SIDE_PX = 8000
MOST_PIXELS = 30_000_000
# A picture of several passes costs the reader one pass over every pixel for each of them.
MOST_SCANS = 64
MOST_UNPACKED = 128 * 1024 * 1024
JPEG, PNG = "image/jpeg", "image/png"

NO_PICTURE = "This file is no JPEG or PNG picture. Choose a photo."
HEIC = "This picture is a HEIC file. Save it as JPEG, then choose it again."
DAMAGED = "This picture is cut off or damaged. Take it once more, or choose another."
NOT_SHOWN = "This kind of JPEG is not shown everywhere. Save it as an ordinary JPEG, then choose it again."

MIB = 1024 * 1024
_SOI, _EOI = b"\xff\xd8", b"\xff\xd9"
_PNG_MARK = b"\x89PNG\r\n\x1a\n"
_PREFIX = 0xFF
_APP0, _APP1, _APP14, _APP_LAST, _COMMENT = 0xE0, 0xE1, 0xEE, 0xEF, 0xFE
_SOS, _END, _TABLES = 0xDA, 0xD9, frozenset({0xC4, 0xDB, 0xDD})
# Baseline, extended and progressive, Huffman coded: what browsers show.
_FRAMES = frozenset({0xC0, 0xC1, 0xC2})
_OTHER_FRAMES = frozenset(range(0xC3, 0xD0)) - {0xC4, 0xC8}
_SCAN_END = re.compile(rb"\xff[\x01-\xcf\xd8-\xff]")
_JFIF = b"\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"
_EXIF, _ADOBE = b"Exif\x00\x00", b"Adobe"
_ADOBE_BYTES, _SIDEWAYS, _WAYS_UP = 12, 5, 8
_ORIENTATION, _SHORT = 0x0112, 3
_COMPONENTS = frozenset({1, 3, 4})
_BITS = 8
# Samples for each pixel and the depths allowed, by colour type.
_COLOURS = {
    0: (1, frozenset({1, 2, 4, 8, 16})),
    2: (3, frozenset({8, 16})),
    3: (1, frozenset({1, 2, 4, 8})),
    4: (2, frozenset({8, 16})),
    6: (4, frozenset({8, 16})),
}
_PALETTE = 3
_KEPT = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})
# First column and row, and steps, of the seven passes of an interlaced picture.
_PASSES = (
    (0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2),
)  # fmt: skip


class NotAPicture(ValueError):
    """The bytes cannot be kept as a picture; the text is a sentence for whoever sent them."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as it is kept: bytes written anew, and how large it is shown, in pixels."""

    data: bytes
    content_type: str
    width: int
    height: int


def clean_picture(data: bytes, most_bytes: int = MOST_BYTES) -> Picture:
    """Return the picture with nothing but what shows it; raises NotAPicture with a sentence.

    most_bytes: what the file may hold at most.
    """
    if len(data) > most_bytes:
        raise NotAPicture(
            f"The picture has {len(data) / MIB:.1f} MiB. At most {most_bytes / MIB:g} MiB can be kept: "
            "choose a smaller size."
        )
    try:
        if data.startswith(_SOI):
            return _jpeg(data)
        if data.startswith(_PNG_MARK):
            return _png(data)
    except (struct.error, IndexError, zlib.error):
        raise NotAPicture(DAMAGED) from None
    # ISO base media files name their kind at byte 4.
    raise NotAPicture(HEIC if data[4:8] == b"ftyp" and data[8:11] in (b"hei", b"mif") else NO_PICTURE)


def _check_size(width: int, height: int) -> None:
    if not width or not height:
        raise NotAPicture(DAMAGED)
    if max(width, height) > MOST_SIDE_PX or width * height > MOST_PIXELS:
        raise NotAPicture(
            f"The picture is {width} x {height} pixels. At most {MOST_SIDE_PX} on a side and "
            f"{MOST_PIXELS // 1_000_000} million in all can be kept: make it smaller."
        )


def _jpeg(data: bytes) -> Picture:
    size: tuple[int, int] | None = None
    way_up, scans, jfif, adobe = 1, 0, b"", b""
    body: list[bytes] = []
    at = len(_SOI)
    while True:
        if data[at] != _PREFIX:
            raise NotAPicture(DAMAGED)
        while data[at] == _PREFIX:
            at += 1
        marker = data[at]
        at += 1
        if marker == _END:
            break
        (length,) = struct.unpack_from(">H", data, at)
        segment = data[at + 2 : at + length]
        if len(segment) != length - 2:
            raise NotAPicture(DAMAGED)
        whole = bytes((_PREFIX, marker)) + data[at : at + length]
        at += length
        if marker in _FRAMES:
            if size is not None:
                raise NotAPicture(DAMAGED)
            size = _frame(segment)
            body.append(whole)
        elif marker in _OTHER_FRAMES:
            raise NotAPicture(NOT_SHOWN)
        elif marker in _TABLES:
            body.append(whole)
        elif marker == _SOS:
            end = _SCAN_END.search(data, at)
            scans += 1
            if size is None or end is None or end.start() == at or scans > MOST_SCANS:
                raise NotAPicture(DAMAGED)
            body += (whole, data[at : end.start()])
            at = end.start()
        elif marker == _APP0 and segment.startswith(b"JFIF"):
            jfif = _JFIF
        elif marker == _APP1 and segment.startswith(_EXIF) and way_up == 1:
            way_up = _way_up(segment[len(_EXIF) :])
        elif marker == _APP14 and segment.startswith(_ADOBE) and len(segment) >= _ADOBE_BYTES:
            adobe = b"\xff\xee" + struct.pack(">H", _ADOBE_BYTES + 2) + segment[:_ADOBE_BYTES]
        elif not (_APP0 <= marker <= _APP_LAST or marker == _COMMENT):
            raise NotAPicture(DAMAGED)
    if size is None or not scans:
        raise NotAPicture(DAMAGED)
    kept = b"".join((_SOI, jfif, _turned(way_up), adobe, *body, _EOI))
    width, height = size if way_up < _SIDEWAYS else (size[1], size[0])
    return Picture(kept, JPEG, width, height)


def _frame(segment: bytes) -> tuple[int, int]:
    bits, height, width, components = struct.unpack_from(">BHHB", segment)
    if bits != _BITS or components not in _COMPONENTS:
        raise NotAPicture(NOT_SHOWN)
    _check_size(width, height)
    return width, height


def _way_up(tiff: bytes) -> int:
    """Return which way up a camera says the picture is, 1 to 8 (TIFF 6.0, tag 274); 1 when unreadable."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return 1
    try:
        (first,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, first)
        for number in range(count):
            tag, kind, _, value = struct.unpack_from(f"{order}HHIH", tiff, first + 2 + 12 * number)
            if (tag, kind) == (_ORIENTATION, _SHORT):
                return int(value) if 1 <= value <= _WAYS_UP else 1
    except struct.error:
        return 1
    return 1


def _turned(way_up: int) -> bytes:
    """Return a camera's notes that say nothing but which way up the picture is."""
    if way_up == 1:
        return b""
    entry = struct.pack(">HHIHH", _ORIENTATION, _SHORT, 1, way_up, 0)
    notes = _EXIF + b"MM\x00*" + struct.pack(">IH", 8, 1) + entry + bytes(4)
    return b"\xff\xe1" + struct.pack(">H", len(notes) + 2) + notes


def _png(data: bytes) -> Picture:
    kept: list[bytes] = [_PNG_MARK]
    packed: list[bytes] = []
    kinds: list[bytes] = []
    at = len(_PNG_MARK)
    while not kinds or kinds[-1] != b"IEND":
        length, kind = struct.unpack_from(">I4s", data, at)
        whole = data[at : at + length + 12]
        content = whole[8:-4]
        (check,) = struct.unpack_from(">I", data, at + 8 + length)
        if len(content) != length or zlib.crc32(whole[4:-4]) != check:
            raise NotAPicture(DAMAGED)
        at += len(whole)
        if not kinds and kind != b"IHDR":
            raise NotAPicture(DAMAGED)
        if kind in _KEPT:
            kinds.append(kind)
            kept.append(whole)
            packed += [content] if kind == b"IDAT" else []
        elif not kind[0] & 0x20:
            # A chunk that a reader must know to show the picture, and that nobody does.
            raise NotAPicture(DAMAGED)
    width, height, depth, colour, packing, filtering, interlaced = struct.unpack(">IIBBBBB", kept[1][8:-4])
    samples, depths = _COLOURS.get(colour, (0, frozenset()))
    once = [kind for kind in kinds if kind != b"IDAT"]
    if depth not in depths or packing or filtering or interlaced not in (0, 1) or len(set(once)) != len(once):
        raise NotAPicture(DAMAGED)
    if not packed or (colour == _PALETTE and b"PLTE" not in kinds):
        raise NotAPicture(DAMAGED)
    if set(kinds[kinds.index(b"IDAT") : -1]) != {b"IDAT"}:
        raise NotAPicture(DAMAGED)
    _check_size(width, height)
    _check_unpacked(packed, _expected(width, height, samples * depth, interlaced=bool(interlaced)))
    return Picture(b"".join(kept), PNG, width, height)


def _expected(width: int, height: int, bits: int, *, interlaced: bool) -> int:
    """Return how many bytes a picture unpacks to: a filter byte and the samples of each row."""
    if not interlaced:
        return height * (1 + (width * bits + 7) // 8)
    total = 0
    for left, top, across, down in _PASSES:
        columns, rows = -(-max(0, width - left) // across), -(-max(0, height - top) // down)
        total += rows * (1 + (columns * bits + 7) // 8) if columns else 0
    return total


def _check_unpacked(packed: list[bytes], expected: int) -> None:
    """Unpack piece by piece and count; never more is held than one piece."""
    if expected > MOST_UNPACKED:
        raise NotAPicture("This picture is too large unpacked. Save it with 8 bits per colour.")
    unpacker, total = zlib.decompressobj(), 0
    for part in packed:
        rest = part
        while rest and not unpacker.eof:
            total += len(unpacker.decompress(rest, MIB))
            rest = unpacker.unconsumed_tail
            if total > expected:
                raise NotAPicture(DAMAGED)
    while not unpacker.eof and (piece := unpacker.decompress(b"", MIB)):
        total += len(piece)
    if total != expected:
        raise NotAPicture(DAMAGED)
