"""The camera, and tapered pieces of the world put on the picture.

World axes: right, away from the camera, up, in metres.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from geometry import Array
from PIL import ImageDraw

Colour = tuple[int, int, int]

WIDTH, HEIGHT = 640, 360
FINE = 2  # drawn this many times larger, then scaled down
LENS = 850.0  # pixels
CAMERA = np.array([0.0, -6.4, 2.25])
LOOK_AT = np.array([0.0, 0.0, 0.90])
OUTLINE: Colour = (24, 28, 38)


class Blob(NamedTuple):
    """A tapered limb piece between two world points, radii in metres."""

    a: Array
    b: Array
    ra: float
    rb: float
    colour: Colour


Limb = list[Blob]  # pieces drawn together, one outline round them all


def camera_axes() -> Array:
    """Rows: the camera's right, up and forward, shape (3, 3)."""
    forward = (LOOK_AT - CAMERA) / np.linalg.norm(LOOK_AT - CAMERA)
    right = np.array([1.0, 0.0, 0.0])
    return np.stack([right, np.cross(right, forward), forward])


AXES = camera_axes()


def seen(point: Array) -> tuple[float, float, float]:
    """Where a world point lies in the fine picture: x, y in pixels, and pixels per metre."""
    right, up, depth = AXES @ (point - CAMERA)
    scale = FINE * LENS / depth
    return FINE * WIDTH / 2 + scale * right, FINE * (HEIGHT / 2 + 14) - scale * up, scale


def spot(draw: ImageDraw.ImageDraw, x: float, y: float, r: float, colour: Colour) -> None:
    """A filled circle, pixels."""
    draw.ellipse((x - r, y - r, x + r, y + r), fill=colour)


def blob(draw: ImageDraw.ImageDraw, piece: Blob, colour: Colour, grow: float) -> None:
    """Draw one limb piece, `grow` pixels fatter than it is."""
    xa, ya, sa = seen(piece.a)
    xb, yb, sb = seen(piece.b)
    ra, rb = piece.ra * sa + grow, piece.rb * sb + grow
    spot(draw, xa, ya, ra, colour)
    spot(draw, xb, yb, rb, colour)
    far = float(np.hypot(xb - xa, yb - ya))
    if far > 1.0:
        nx, ny = (ya - yb) / far, (xb - xa) / far
        quad = [(xa + nx * ra, ya + ny * ra), (xb + nx * rb, yb + ny * rb),
                (xb - nx * rb, yb - ny * rb), (xa - nx * ra, ya - ny * ra)]  # fmt: skip
        draw.polygon(quad, fill=colour)


def draw_limb(draw: ImageDraw.ImageDraw, limb: Limb) -> None:
    """Draw a limb's pieces inside one common outline."""
    for piece in limb:
        blob(draw, piece, OUTLINE, grow=1.6 * FINE)
    for piece in limb:
        blob(draw, piece, piece.colour, grow=0.0)
