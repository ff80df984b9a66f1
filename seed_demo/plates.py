"""Makes pictures that pass for photographs of riveted data plates: the same document gives the same bytes."""

from __future__ import annotations

import io
from random import Random

from PIL import Image, ImageDraw, ImageFilter, ImageFont

from seed_demo.shapes import Document

_PLATE_SIZE = (640, 440)


def plate(doc: Document) -> bytes:
    """A document as a PNG that looks like a photograph of a riveted data plate with stamped letters."""
    chance = Random(doc.key)  # noqa: S311 - scratches that are the same every time, nothing secret
    width, height = _PLATE_SIZE
    scene = Image.new("RGB", _PLATE_SIZE, (52, 58, 60))
    draw = ImageDraw.Draw(scene)
    for row in range(0, height, 2):
        shade = 44 + row * 22 // height
        draw.line((0, row, width, row), fill=(shade, shade + 6, shade + 8))
    metal = _brushed(chance, (width - 100, height - 84))
    _rivets(ImageDraw.Draw(metal), metal.size)
    _stamp(metal, (doc.pages[0].title, *(block for block in doc.pages[0].blocks if isinstance(block, str))))
    tilted = metal.convert("RGBA").rotate(chance.uniform(-1.8, 1.8), resample=Image.Resampling.BICUBIC, expand=True)
    shadow = Image.new("RGBA", tilted.size, (0, 0, 0, 0))
    shadow.paste((0, 0, 0, 150), mask=tilted.getchannel("A"))
    corner = ((width - tilted.width) // 2, (height - tilted.height) // 2)
    scene.paste(shadow, (corner[0] + 5, corner[1] + 7), shadow.filter(ImageFilter.BoxBlur(5)))
    scene.paste(tilted, corner, tilted)
    out = io.BytesIO()
    scene.filter(ImageFilter.GaussianBlur(0.6)).save(out, "PNG", compress_level=4)
    return out.getvalue()


def _brushed(chance: Random, size: tuple[int, int]) -> Image.Image:
    metal = Image.new("RGB", size, (186, 188, 184))
    draw = ImageDraw.Draw(metal)
    for row in range(size[1]):
        grey = 178 + chance.randint(-9, 9) - row * 26 // size[1]
        draw.line((0, row, size[0], row), fill=(grey, grey + 1, grey - 3))
    for _ in range(14):
        x, y = chance.randint(0, size[0]), chance.randint(0, size[1])
        draw.line((x, y, x + chance.randint(20, 90), y + chance.randint(-12, 12)), fill=(208, 208, 204))
    draw.rectangle((10, 10, size[0] - 11, size[1] - 11), outline=(96, 98, 96), width=3)
    return metal


def _rivets(draw: ImageDraw.ImageDraw, size: tuple[int, int]) -> None:
    for x in (32, size[0] - 32):
        for y in (32, size[1] - 32):
            draw.ellipse((x - 13, y - 13, x + 13, y + 13), fill=(92, 92, 90))
            draw.ellipse((x - 12, y - 13, x + 11, y + 10), fill=(164, 164, 160))
            draw.ellipse((x - 7, y - 9, x + 2, y), fill=(214, 214, 210))


def _stamp(metal: Image.Image, lines: tuple[str, ...]) -> None:
    draw = ImageDraw.Draw(metal)
    middle = metal.width / 2
    top = 36.0
    step = (metal.height - 76) / len(lines)
    for number, line in enumerate(lines):
        size = 40.0 if number == 0 else 30.0
        font = ImageFont.load_default(size=size)
        while draw.textlength(line, font=font) > metal.width - 120:
            size -= 2
            font = ImageFont.load_default(size=size)
        y = top + step * number + (step - size) / 2 - (8 if number == 0 else 0)
        for offset, colour in ((2, (226, 226, 222)), (-1, (60, 60, 58)), (0, (40, 41, 40))):
            draw.text((middle + offset, y + offset), line, font=font, fill=colour, anchor="ma")
        if number == 0:
            draw.line((60, top + step, metal.width - 60, top + step), fill=(70, 70, 68), width=2)
