"""Photos that a log names → pictures small enough to stand in a page, with nothing in them but the picture.

What cannot be shown (absent, broken, too large, no photo) is said in words and never stops the page.
"""

from __future__ import annotations

import base64
import io
import os
import warnings
from typing import TYPE_CHECKING

from sitelog.base.frozen import NamedTuple

if TYPE_CHECKING:
    from PIL.Image import Image

WIDEST = 1000
"""Pixels of the longer side: sharp across a column of a printed page, and small."""
QUALITY = 80
MOST_BYTES = 60_000_000
MOST_PIXELS = 40_000_000
"""Of a picture that has to be decoded whole. A JPEG is decoded smaller, and may have more."""
_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")
_SCALED = ("JPEG", "MPO")  # two pictures in one file, as some phones write them


class Shown(NamedTuple):
    """A photo ready to stand in a page, or the reason why it is not."""

    data: bytes = b""
    width: int = 0
    height: int = 0
    reason: str = ""

    @property
    def address(self) -> str:
        """The picture as a `data:` address; empty where there is none."""
        return f"data:image/jpeg;base64,{base64.b64encode(self.data).decode()}" if self.data else ""


def beside(log: str, name: str) -> str:
    """The path of a photo that a log names; empty where that is not beside the log or below it."""
    parts = name.replace("\\", "/").split("/")
    if log == "-" or ".." in parts or os.path.isabs(name) or os.path.splitdrive(name)[0] or "\0" in name:
        return ""
    return os.path.join(os.path.dirname(log), *parts)


def shrunk(path: str) -> Shown:
    """The photo in a file, upright and at a sane size, as a JPEG without what the camera wrote into it."""
    try:
        if not path or not os.path.isfile(path):
            return Shown(reason="it is not beside the log")
        size = os.path.getsize(path)
        if size > MOST_BYTES:
            return Shown(reason=f"its file is too large ({size // 1_000_000} MB)")
        with open(path, "rb") as stream:
            data = stream.read(MOST_BYTES)
    except (OSError, ValueError):
        return Shown(reason="its file cannot be read")
    return _of(data)


def _of(data: bytes) -> Shown:
    from PIL import Image, ImageOps

    Image.init()  # else only a few formats are known
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a picture of many pixels is told by its size below
            with Image.open(io.BytesIO(data), formats=_FORMATS) as picture:
                if picture.format not in _SCALED and picture.width * picture.height > MOST_PIXELS:
                    return Shown(reason=f"it has too many pixels ({picture.width} x {picture.height})")
                picture.draft("RGB", (WIDEST, WIDEST))
                picture.thumbnail((WIDEST, WIDEST))
                plain = _plain(ImageOps.exif_transpose(picture))
        out = io.BytesIO()
        plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    except Image.DecompressionBombError:
        return Shown(reason="it has too many pixels")
    except Exception:  # decoders meet damage in ways of their own, and none may stop the page
        return Shown(reason="it cannot be read as a photo")
    return Shown(out.getvalue(), plain.width, plain.height)


def _plain(picture: Image) -> Image:
    """The picture alone, on white where it lets something through: no place, no camera, no comment."""
    from PIL import Image as Images

    seen = picture.convert("RGBA")
    plain = Images.new("RGB", seen.size, "white")
    plain.paste(seen, mask=seen.getchannel("A"))
    return plain
