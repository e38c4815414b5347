"""Invented photos, as a phone makes them: with position, device, time and which way is up."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any

from PIL import Image

MAKER, MODEL, LENS, REMARK = "Quollworks", "Quollphone 7", "Quoll-Lens", "Quoll remark"
POSITION = ((39.0, 44.0, 31.25), (104.0, 59.0, 17.75))
WORDS = (MAKER, MODEL, LENS, REMARK, "Quoll profile")
"""What a page must never say."""

MAKE, KIND, TURNED, CHANGED, DETAILS, GPS = 0x010F, 0x0110, 0x0112, 0x0132, 0x8769, 0x8825


def exif(taken: datetime | None = None, *, turned: int = 1, offset: bool = True, **more: Any) -> Image.Exif:
    """What stands beside the pixels. turned: 6 for a phone held upright."""
    said = Image.Exif()
    said[MAKE], said[KIND], said[TURNED] = MAKER, MODEL, turned
    details = said.get_ifd(DETAILS)
    details[0xA434] = LENS
    if taken is not None:
        details[0x9003] = f"{taken:%Y:%m:%d %H:%M:%S}"
        if offset:
            details[0x9011] = f"{taken:%z}"[:3] + ":" + f"{taken:%z}"[3:]
    where = said.get_ifd(GPS)
    where[1], where[2], where[3], where[4] = "N", POSITION[0], "W", POSITION[1]
    for tag, value in more.items():
        said[int(tag[1:], 16)] = value
    return said


def picture(width: int = 320, height: int = 240, colour: str = "steelblue") -> Image.Image:
    """A picture whose upper left corner is red, so that it can be told which way it was turned."""
    made = Image.new("RGB", (width, height), colour)
    made.paste((255, 0, 0), (0, 0, width // 4, height // 4))
    return made


def photo(kind: str = "JPEG", said: Image.Exif | None = None, made: Image.Image | None = None, **more: Any) -> bytes:
    """The bytes of a photo of one kind."""
    if kind == "HEIF":
        from pillow_heif import register_heif_opener

        register_heif_opener()
    out = io.BytesIO()
    beside = {} if said is None else {"exif": said.tobytes()}
    (made or picture()).save(out, kind, **beside, **more)
    return out.getvalue()
