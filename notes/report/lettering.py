"""Words as pictures: captions to burn in, and title cards. Any script that a font on this machine holds."""

import textwrap
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Pixels = NDArray[np.uint8]
_INK = (246, 244, 238, 255)
_QUIET = (178, 190, 196, 255)
_GROUND = (24, 34, 40)
_BEHIND = (16, 22, 26, 200)


def caption_image(text: str, width: int, height: int) -> Pixels:
    """A caption for a picture of that size, as RGBA of shape (rows, columns, 4); at most nine tenths as wide."""
    unit = min(height, width * 0.75)
    font = font_for(text, max(12, round(unit / 22)))
    lines = _wrapped(text, font, width * 0.86, most=4)
    pad = max(4, round(unit / 60))
    left, top, right, bottom = _measure(lines, font)
    image = Image.new("RGBA", (round(right - left) + 4 * pad, round(bottom - top) + 2 * pad), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((0, 0, image.width - 1, image.height - 1), radius=pad, fill=_BEHIND)
    draw.multiline_text((2 * pad - left, pad - top), lines, font=font, fill=_INK, align="center")
    return np.asarray(image)


def card_image(title: str, under: str, quote: str, width: int, height: int) -> Pixels:
    """A title card as RGB of shape (height, width, 3): title, a quiet line under it, the coach's words."""
    image = Image.new("RGB", (width, height), _GROUND)
    draw = ImageDraw.Draw(image)
    room, unit = width * 0.84, min(height, width * 0.75)
    blocks = [(title, unit / 11, _INK, 3), (under, unit / 24, _QUIET, 2), (quote, unit / 18, _INK, 5)]
    drawn = []
    for text, size, ink, most in blocks:
        font = font_for(text, max(11, round(size)))
        lines = _wrapped(text, font, room, most=most)
        drawn.append((lines, font, ink, _measure(lines, font)))
    gap = unit / 16
    y = (height - sum(box[3] - box[1] for *_, box in drawn) - gap * (len(drawn) - 1)) / 2
    for lines, font, ink, (_, top, _, bottom) in drawn:
        draw.multiline_text((width * 0.08, y - top), lines, font=font, fill=ink[:3])
        y += bottom - top + gap
    return np.asarray(image)


def font_for(text: str, size: int) -> ImageFont.FreeTypeFont:
    """The first font that holds every letter of a text: DejaVu Sans, else one of the system's; size in pixels."""
    needed = frozenset(ord(c) for c in text if not c.isspace())
    fonts = _fonts()
    for index in range(len(fonts)):
        if needed <= _letters(index):
            return ImageFont.truetype(fonts[index], size)
    return ImageFont.truetype(fonts[0], size)


def _wrapped(text: str, font: ImageFont.FreeTypeFont, room: float, *, most: int) -> str:
    """The text broken into at most `most` lines that fit the room; what is left over is cut with an ellipsis."""
    text = " ".join(text.split())
    wide = max(1.0, font.getlength(text)) / max(1, len(text))
    columns = max(8, int(room / wide))
    lines = [text]
    while columns > 8:
        lines = textwrap.wrap(text, columns, max_lines=most, placeholder=" …") or [""]
        if all(font.getlength(line) <= room for line in lines):
            break
        columns -= 1
    return "\n".join(lines)


def _measure(lines: str, font: ImageFont.FreeTypeFont) -> tuple[float, float, float, float]:
    return ImageDraw.Draw(Image.new("L", (1, 1))).multiline_textbbox((0, 0), lines, font=font, align="center")


@cache
def _fonts() -> tuple[str, ...]:
    """Font files: the one that matplotlib brings, then the system's, regular ones first."""
    from matplotlib import font_manager, get_data_path

    own = str(Path(get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf")
    found = sorted(font_manager.findSystemFonts(), key=lambda f: ("Regular" not in f, f))
    return (own, *(f for f in found if f.lower().endswith((".ttf", ".otf", ".ttc"))))


@cache
def _letters(index: int) -> frozenset[int]:
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(_fonts()[index], fontNumber=0, lazy=True) as font:
            return frozenset(font.getBestCmap() or ())
    except (TTLibError, OSError):
        return frozenset()
