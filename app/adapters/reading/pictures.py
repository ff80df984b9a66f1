"""Pictures, by Pillow: a first look, and a copy drawn again, which carries nothing but its pixels."""

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from PIL import Image, ImageOps

from app.adapters.reading.talk import MOST_PIXELS, PICTURES, Refusal
from app.core.pages import Page
from app.services.ports import Looked, ReadText

FEW: Final = 24
"""So many colours show letters on paper, and weigh a third."""

_ENDS: Final = {"PNG": b"IEND", "JPEG": b"\xff\xd9"}
_SHRINKING_WELL: Final = frozenset({"L", "RGB", "RGBA", "CMYK", "YCbCr"})
_DEEP: Final = frozenset({"I", "I;16", "I;16B", "I;16L", "F"})


def look(content: bytes, media_type: str) -> Looked:
    """One page, decoded to its last pixel."""
    with _opened(content, PICTURES[media_type]) as image:
        image.load()
    return Looked(1)


def read(content: bytes, media_type: str) -> ReadText:
    """One page without text."""
    look(content, media_type)
    return ReadText((Page(""),), "none")


def picture(content: bytes, media_type: str, page: int, longest: int, most: int = 0) -> bytes:
    """The picture as PNG: upright, on white, no larger than asked for; no wider than `most` and in few colours, unless
    that is 0."""
    if page != 1:
        raise Refusal("no_such_page")
    with _opened(content, PICTURES[media_type]) as image:
        image.draft("RGB", (longest, longest))
        image.load()
        small: Image.Image = image if image.mode in _SHRINKING_WELL else _plain(image)
        small.thumbnail((longest, longest))
        upright = ImageOps.exif_transpose(small)
        if most:
            upright.thumbnail((most, longest))
        return _png(_plain(upright), few=most > 0)


def png_of(pixels: bytes, width: int, height: int, stride: int, *, few: bool = False) -> bytes:
    """Pixels of blue, green, red and nothing, as PNG; in few colours if that is asked for."""
    return _png(Image.frombuffer("RGB", (width, height), pixels, "raw", "BGRX", stride, 1), few=few)


def _plain(image: Image.Image) -> Image.Image:
    """Red, green and blue, on white."""
    if image.mode in _DEEP:
        return image.point(lambda value: value * (1 / 256)).convert("RGB")
    if not image.has_transparency_data:
        return image.convert("RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGB", image.size, "white")
    paper.paste(clear, mask=clear.getchannel("A"))
    return paper


def _png(image: Image.Image, *, few: bool = False) -> bytes:
    bare = Image.new("RGB", image.size)
    bare.paste(image)
    if few:
        bare = bare.quantize(FEW, dither=Image.Dither.NONE)
    out = io.BytesIO()
    bare.save(out, "PNG", optimize=few)
    return out.getvalue()


@contextmanager
def _opened(content: bytes, name: str) -> Iterator[Image.Image]:
    """A picture of one format and no other. What Pillow warns of is refused."""
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    if _ENDS[name] not in content:
        raise Refusal("file_truncated")
    try:
        with warnings.catch_warnings(action="error"), Image.open(io.BytesIO(content), formats=(name,)) as image:
            yield image
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise Refusal("file_bomb") from error
    except ValueError as error:
        raise Refusal("file_bomb" if "MAX_TEXT" in str(error) else "file_unreadable") from error
    except OSError as error:
        raise Refusal("file_truncated" if "truncated" in str(error) else "file_unreadable") from error
