"""The ring, the blows and the clocks, frame by frame, and the frames as MP4."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import av
import numpy as np
from bout import FPS, Fighter, stage
from drawing import FINE, HEIGHT, OUTLINE, WIDTH, Blob, Colour, Limb, draw_limb, seen, spot
from figures import KITS, body
from geometry import Array, turned
from moves import ACTIONS, ROW
from PIL import Image, ImageDraw, ImageFont
from words import Rounds

RING_HALF = 2.7
WALL: Colour = (44, 52, 68)
CANVAS: Colour = (196, 204, 214)
LIGHT: Colour = (240, 244, 250)
BURST_SECONDS = 0.24


def shadow(draw: ImageDraw.ImageDraw, ground: Array) -> None:
    """A soft-edged patch under a fighter standing at `ground`, shape (2,)."""
    x, y, scale = seen(np.array([*ground, 0.0]))
    for size, colour in ((0.46, (182, 190, 201)), (0.38, (168, 176, 188))):
        draw.ellipse((x - size * scale, y - 0.26 * size * scale,
                      x + size * scale, y + 0.26 * size * scale), fill=colour)  # fmt: skip


def burst(draw: ImageDraw.ImageDraw, point: Array, age: float) -> None:
    """Short rays around a blow that has just landed; age 0 to 1."""
    x, y, scale = seen(point)
    inner, outer = (0.10 + 0.06 * age) * scale, (0.15 + 0.12 * age) * scale
    for turn in np.arange(8) * np.pi / 4 + 0.3:
        c, s = float(np.cos(turn)), float(np.sin(turn))
        ends = (x + c * inner, y + s * inner, x + c * outer, y + s * outer)
        draw.line(ends, fill=OUTLINE, width=5 * FINE)
        draw.line(ends, fill=(255, 226, 92), width=3 * FINE)


def bursts(fighters: Sequence[Fighter], frame: int) -> Iterator[tuple[Array, float]]:
    """The blows landing about now: the world point hit, and their age from 0 to 1."""
    t = frame / FPS
    for fighter in fighters:
        for moment in fighter.moments:
            part = ACTIONS[moment.does].strikes
            if part and moment.lands and 0 <= t - moment.at < BURST_SECONDS:
                hit = round(moment.at * FPS)
                place = fighter.pose(hit)[ROW[part]]
                axes = turned(float(fighter.heading[hit]))
                yield np.array([*fighter.ground[hit], 0.0]) + axes @ place, (t - moment.at) / BURST_SECONDS


@functools.cache
def letters(size: int) -> ImageFont.FreeTypeFont:
    """Pillow's own typeface at a size in pixels."""
    font = ImageFont.load_default(size)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


def backdrop(club: str) -> Image.Image:
    """The empty ring, fine size."""
    picture = Image.new("RGB", (FINE * WIDTH, FINE * HEIGHT), WALL)
    draw = ImageDraw.Draw(picture)
    half = RING_HALF
    draw.rectangle((0, FINE * 210, FINE * WIDTH, FINE * HEIGHT), fill=(36, 42, 55))
    _, y, _ = seen(np.array([0.0, half, 1.72]))
    draw.text((FINE * WIDTH / 2, y), club.upper(), fill=(82, 94, 116), font=letters(17 * FINE), anchor="mm")
    corners = [(-half, half), (half, half), (half, -half), (-half, -half)]
    floor = [seen(np.array([x, y, 0.0]))[:2] for x, y in corners]
    draw.polygon(floor, fill=CANVAS)
    draw.line([*floor, floor[0]], fill=(74, 84, 104), width=5 * FINE)
    inset = [seen(np.array([0.9 * x, 0.9 * y, 0.0]))[:2] for x, y in corners]
    draw.line([*inset, inset[0]], fill=(178, 187, 199), width=2 * FINE)
    for height, colour in ((0.45, (176, 62, 62)), (0.85, (214, 218, 226)), (1.25, (62, 92, 168))):
        rope = [seen(np.array([x, y, height]))[:2] for x, y in (corners[3], *corners[:3])]
        draw.line(rope, fill=colour, width=3 * FINE)
    for x, colour in ((-half, KITS[0].dark), (half, KITS[1].dark)):
        post = Blob(np.array([x, half, 0.0]), np.array([x, half, 1.35]), 0.07, 0.07, colour)
        draw_limb(draw, [post])
    return picture


def clock_text(seconds: float) -> str:
    """Seconds as m:ss, whole seconds begun."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


@functools.cache
def plate(label: str, left: str, video: str, names: tuple[str, str]) -> Image.Image:
    """The captions, as a see-through picture of WIDTH x HEIGHT."""
    picture = Image.new("RGBA", (WIDTH, HEIGHT), (0, 0, 0, 0))
    draw = ImageDraw.Draw(picture)
    draw.rounded_rectangle((222, 6, 418, 46), 9, fill=(16, 20, 28, 225))
    draw.text((236, 26), label, fill=LIGHT, font=letters(19), anchor="lm")
    draw.text((406, 26), left, fill=(255, 226, 92), font=letters(30), anchor="rm")
    for x, side, name, kit in ((8, 0, names[0], KITS[0]), (WIDTH - 98, 1, names[1], KITS[1])):
        draw.rounded_rectangle((x, 10, x + 90, 38), 8, fill=(*kit.dark, 240))
        spot(draw, x + (15 if side == 0 else 75), 24, 7, kit.main)
        draw.text((x + (52 if side == 0 else 38), 24), name, fill=LIGHT, font=letters(17), anchor="mm")
    draw.rounded_rectangle((WIDTH - 112, HEIGHT - 30, WIDTH - 8, HEIGHT - 8), 6, fill=(16, 20, 28, 225))
    draw.text((WIDTH - 102, HEIGHT - 19), "video", fill=(170, 180, 194), font=letters(13), anchor="lm")
    draw.text((WIDTH - 18, HEIGHT - 19), video, fill=LIGHT, font=letters(17), anchor="rm")
    return picture


def picture_of(fighters: Sequence[Fighter], frame: int, empty: Image.Image, rounds: Rounds) -> Image.Image:
    """One frame of the footage, RGB, WIDTH x HEIGHT."""
    fine = empty.copy()
    draw = ImageDraw.Draw(fine)
    limbs: list[tuple[float, Limb]] = []
    for fighter, kit in zip(fighters, KITS, strict=True):
        shadow(draw, fighter.ground[frame])
        limbs += [(seen(point)[2], limb) for point, limb in body(fighter, frame, kit)]
    for _, limb in sorted(limbs, key=lambda item: item[0]):
        draw_limb(draw, limb)
    for point, age in bursts(fighters, frame):
        burst(draw, point, age)
    small = fine.reduce(FINE)
    label, left = rounds.at(frame / FPS)
    shown = clock_text(np.ceil(left - 1e-6))
    captions = plate(label, shown, clock_text(frame / FPS), (fighters[0].name, fighters[1].name))
    small.paste(captions, (0, 0), captions)
    return small


def write_h264(path: Path, frames: int, draw: Callable[[int], Image.Image]) -> None:
    """Write draw(0) ... draw(frames - 1) as H.264 at FPS."""
    options = {"movflags": "+faststart", "fflags": "+bitexact"}
    with av.open(str(path), "w", format="mp4", options=options) as file:
        stream = file.add_stream(
            "libx264",
            rate=FPS,
            options={"crf": "33", "preset": "slower", "psy": "0", "threads": "2", "g": "250"},
        )
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        for number in range(frames):
            file.mux(stream.encode(av.VideoFrame.from_ndarray(np.asarray(draw(number)), format="rgb24")))
            if number % (20 * FPS) == 0:
                print(f"  drawn {number // FPS} s of {frames // FPS}", flush=True)
        file.mux(stream.encode(None))


def make_footage(script: dict[str, Any], out: Path) -> None:
    """Draw the sparring and write it."""
    rounds, fighters = Rounds(**script["rounds"]), stage(script)
    empty = backdrop(script["club"])
    path = out / script["footage"]["name"]
    frames = int(script["footage"]["length"] * FPS)
    write_h264(path, frames, lambda number: picture_of(fighters, number, empty, rounds))
    print(f"{path.name}, {frames / FPS:.1f} s")
