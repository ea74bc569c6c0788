"""Small pictures made byte by byte, with whatever a test wants hidden in them."""

import struct
import zlib

_PASSES = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))
_SAMPLES = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}


def segment(marker: int, content: bytes) -> bytes:
    """Return one segment of a JPEG."""
    return bytes((0xFF, marker)) + struct.pack(">H", len(content) + 2) + content


def exif(words: bytes = b"", way_up: int = 1, order: str = ">") -> bytes:
    """Return a camera's notes: words of its own, and which way up the picture is."""
    mark = b"MM" if order == ">" else b"II"
    head = mark + struct.pack(f"{order}HI", 42, 8)
    entries = struct.pack(f"{order}H", 2)
    entries += struct.pack(f"{order}HHII", 0x010F, 2, len(words), 38)
    entries += struct.pack(f"{order}HHIHH", 0x0112, 3, 1, way_up, 0)
    return segment(0xE1, b"Exif\x00\x00" + head + entries + bytes(4) + words)


def jpeg(
    width: int,
    height: int,
    *between: bytes,
    behind: bytes = b"",
    frame: int = 0xC0,
    bits: int = 8,
    scans: int = 1,
) -> bytes:
    """Return a JPEG's structure with one component; its pixels are nothing that anybody would look at."""
    size = segment(frame, struct.pack(">BHHB", bits, height, width, 1) + b"\x01\x11\x00")
    scan = segment(0xDA, b"\x01\x01\x00\x00\x3f\x00") + b"\x12\xff\x00\x34\xff\xd0\x56"
    tables = segment(0xDB, bytes(65)) + segment(0xC4, bytes(17))
    return b"\xff\xd8" + b"".join(between) + tables + size + scan * scans + b"\xff\xd9" + behind


def chunk(kind: bytes, content: bytes) -> bytes:
    """Return one chunk of a PNG."""
    check = struct.pack(">I", zlib.crc32(kind + content))
    return struct.pack(">I", len(content)) + kind + content + check


def png(
    width: int,
    height: int,
    colour: int = 2,
    depth: int = 8,
    *,
    interlaced: bool = False,
    between: bytes = b"",
    behind: bytes = b"",
    packed: bytes | None = None,
) -> bytes:
    """Return a black PNG that any reader shows."""
    bits = _SAMPLES.get(colour, 1) * depth
    passes = _PASSES if interlaced else ((0, 0, 1, 1),)
    rows = b""
    for left, top, across, down in passes:
        columns = len(range(left, width, across))
        rows += bytes(1 + (columns * bits + 7) // 8) * len(range(top, height, down)) if columns else b""
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, int(interlaced))
    parts = [chunk(b"IHDR", head), between, chunk(b"PLTE", bytes(3)) if colour == 3 else b""]
    parts += [chunk(b"IDAT", zlib.compress(rows) if packed is None else packed), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts) + behind
