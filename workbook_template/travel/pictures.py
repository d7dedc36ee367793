"""Pictures without what the camera or the program wrote beside the image; the image's own bytes
stay.
"""

from __future__ import annotations

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_NOTES = {b"tEXt", b"zTXt", b"iTXt", b"eXIf", b"tIME"}


def plain(data: bytes) -> bytes | None:
    """The picture without notes; None where its format is not one that this cleans, or it is
    damaged.

    JPEG (ISO/IEC 10918-1) loses its comments and application segments but APP0 (JFIF), APP2
    (colours) and APP14 (the colour transform); PNG (ISO/IEC 15948) its text, time and EXIF chunks;
    what follows either's end goes too.
    """
    if data.startswith(_PNG):
        return _png(data)
    if data.startswith(b"\xff\xd8\xff"):
        return _jpeg(data)
    return None


def _png(data: bytes) -> bytes | None:
    out, at = [_PNG], len(_PNG)
    while at + 12 <= len(data):
        size, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        stop = at + 12 + size
        if stop > len(data):
            return None
        if kind not in _PNG_NOTES:
            out.append(data[at:stop])
        at = stop
        if kind == b"IEND":
            return b"".join(out)
    return None


def _jpeg(data: bytes) -> bytes | None:
    out, at = [data[:2]], 2
    while at + 2 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0xD9:
            return b"".join([*out, b"\xff\xd9"])
        size = int.from_bytes(data[at + 2 : at + 4], "big")
        stop = at + 2 + size
        if size < 2 or stop > len(data):
            return None
        segment = data[at:stop]
        wanted = marker == 0xE2 and segment[4:].startswith(b"ICC_PROFILE\0")
        wanted = wanted or (marker == 0xE0 and segment[4:].startswith(b"JFIF\0"))
        wanted = wanted or (marker == 0xEE and segment[4:].startswith(b"Adobe"))
        if wanted or not (0xE0 <= marker <= 0xEF or marker == 0xFE):
            out.append(segment)
        at = stop
        if marker == 0xDA:
            at = _scan_end(data, stop)
            out.append(data[stop:at])
    return None


def _scan_end(data: bytes, at: int) -> int:
    """Where the coded image ends: at the next marker that is neither a stuffed byte nor a
    restart.
    """
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        if data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
            at += 2
        elif data[at + 1] == 0xFF:
            at += 1
        else:
            return at
    return len(data)
