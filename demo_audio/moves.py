"""The moves a fighter can make, as places that her body parts go through.

A fighter's own axes: forward (towards the other), left, up, in metres. A pose is an array
of shape (len(PARTS), 3): a place for every body part in these axes, and in the last row,
"twist", the turn of the hips and of the shoulders in degrees (positive: to the left).
Times in seconds.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from geometry import Array, along

Point = tuple[float, float, float]
PARTS = ("pelvis", "chest", "head", "hand_l", "hand_r", "foot_l", "foot_r", "twist")
ROW = {part: row for row, part in enumerate(PARTS)}
STANCE: Array = np.array(
    [
        (0.00, 0.00, 0.86),
        (0.03, 0.00, 1.26),
        (0.07, 0.00, 1.53),
        (0.38, 0.10, 1.42),
        (0.22, -0.12, 1.42),
        (0.26, 0.10, 0.05),
        (-0.28, -0.16, 0.05),
        (-40, -40, 0),
    ]
)  # orthodox: the left side leads

Keys = list[tuple[float, Point]]


class Action(NamedTuple):
    """A move around the instant at which it lands (0 seconds).

    It begins `start` (negative) and ends `end` seconds from there in the stance; between,
    each part goes through its keys: (seconds from landing, place in the fighter's axes).
    `gap`: how far apart the two stand when it lands, None where the move does not care;
    `stay`: how long they stay that close. `strikes`: the part that hits, if any.
    """

    start: float
    end: float
    keys: dict[str, Keys]
    gap: float | None = None
    stay: float = 0.15
    strikes: str | None = None


def held(place: Point, begin: float, until: float) -> Keys:
    """Keys that keep a part at one place from `begin` to `until`."""
    return [(begin, place), (until, place)]


def _jab(**more: Keys) -> dict[str, Keys]:
    """A jab's keys, parts in `more` going their own way instead."""
    straight = {
        "hand_l": held((0.84, 0.0, 1.52), 0.0, 0.06),
        "chest": [(0.0, (0.13, 0.0, 1.25))],
        "head": [(0.0, (0.14, -0.02, 1.51))],
        "twist": [(0.0, (-46.0, -72.0, 0.0))],
    }
    return {**straight, **more}


def _cross(head: Point, chest: Point) -> dict[str, Keys]:
    """A right cross's keys, with head and chest at these places when it lands."""
    return {
        "hand_r": held((0.86, 0.02, 1.52), 0.0, 0.08),
        "hand_l": [(0.0, (0.24, 0.14, 1.46))],
        "pelvis": [(0.0, (0.10, 0.0, 0.84))],
        "chest": held(chest, 0.0, 0.08),
        "head": held(head, -0.02, 0.12),
        "foot_r": [(0.0, (-0.20, -0.12, 0.09))],
        "twist": held((15.0, 42.0, 0.0), 0.0, 0.08),
    }


def _right_kick(height: float, turn: float) -> dict[str, Keys]:
    """A right kick's keys: it lands at `height` metres with the hips turned by `turn` degrees."""
    return {
        "foot_r": [(-0.20, (-0.02, -0.48, 0.45)), *held((0.90, 0.06, height), 0.0, 0.07),
                   (0.27, (0.10, -0.40, 0.40))],
        "pelvis": held((0.12, 0.0, 0.88), -0.05, 0.10),
        "foot_l": [(0.0, (0.22, 0.14, 0.05))],
        "twist": held((turn, 30.0, 0.0), 0.0, 0.07),
    }  # fmt: skip


ACTIONS: dict[str, Action] = {
    "jab": Action(-0.22, 0.36, _jab(), gap=1.10, strikes="hand_l"),
    "feint": Action(-0.18, 0.30, {"hand_l": [(0.0, (0.56, 0.06, 1.46))],
                                  "chest": [(0.0, (0.08, 0.0, 1.22))]}),
    "jab returned low": Action(
        -0.22, 1.5,
        _jab(hand_l=[*held((0.84, 0.0, 1.52), 0.0, 0.06), *held((0.24, 0.20, 0.92), 0.40, 1.15)]),
        gap=1.10, strikes="hand_l"),
    "jab with low right hand": Action(
        -0.22, 1.5, _jab(hand_r=held((0.16, -0.24, 0.94), -0.05, 1.15)), gap=1.10,
        strikes="hand_l"),
    "cross on the line": Action(
        -0.24, 0.48, _cross(head=(0.22, 0.0, 1.56), chest=(0.17, 0.0, 1.27)), gap=1.08,
        strikes="hand_r"),
    "cross off the line": Action(
        -0.24, 0.48,
        {**_cross(head=(0.30, 0.22, 1.33), chest=(0.17, 0.11, 1.15)),
         "hand_l": held((0.24, 0.38, 1.22), -0.04, 0.10)},
        gap=1.00,
        strikes="hand_r"),
    "hook": Action(
        -0.26, 0.42, {"hand_l": [(-0.10, (0.36, 0.52, 1.46)), *held((0.66, 0.02, 1.50), 0.0, 0.05),
                                 (0.15, (0.42, -0.16, 1.46))],
                      "chest": [(0.0, (0.12, 0.0, 1.25))],
                      "twist": [(-0.10, (-10.0, -5.0, 0.0)), (0.05, (-60.0, -80.0, 0.0))]},
        gap=0.92, strikes="hand_l"),
    "body hook": Action(
        -0.30, 0.50, {"hand_l": [(-0.12, (0.26, 0.50, 1.02)), *held((0.64, 0.06, 1.10), 0.0, 0.06)],
                      "chest": held((0.20, 0.10, 1.12), -0.05, 0.10),
                      "head": held((0.30, 0.14, 1.36), -0.05, 0.10),
                      "pelvis": held((0.06, 0.0, 0.76), -0.05, 0.10),
                      "twist": [(-0.12, (-10.0, 0.0, 0.0)), (0.05, (-60.0, -80.0, 0.0))]},
        gap=0.90, strikes="hand_l"),
    "teep": Action(
        -0.42, 0.52, {"foot_l": [(-0.18, (0.34, 0.06, 0.74)), *held((0.98, 0.02, 0.98), 0.0, 0.12),
                                 (0.28, (0.36, 0.08, 0.60))],
                      "pelvis": held((0.10, 0.0, 0.90), -0.08, 0.14),
                      "chest": held((-0.08, 0.0, 1.27), -0.08, 0.14),
                      "head": held((-0.12, 0.0, 1.53), -0.08, 0.14),
                      "hand_l": [(0.0, (0.24, 0.22, 1.22))],
                      "twist": [(0.0, (-60.0, -50.0, 0.0))]},
        gap=1.20, strikes="foot_l"),
    "low kick": Action(
        -0.38, 0.48, {**_right_kick(height=0.44, turn=60.0),
                      "chest": held((-0.02, 0.08, 1.26), -0.05, 0.10),
                      "hand_r": [(0.0, (-0.04, -0.36, 1.20))]},
        gap=1.06, strikes="foot_r"),
    "body kick with guard": Action(
        -0.40, 0.56, {**_right_kick(height=1.08, turn=75.0),
                      "chest": held((-0.12, 0.16, 1.24), -0.05, 0.12),
                      "head": held((-0.14, 0.20, 1.50), -0.05, 0.12),
                      "hand_r": held((0.03, 0.06, 1.46), -0.25, 0.35),
                      "hand_l": held((0.16, 0.26, 1.44), -0.20, 0.30)},
        gap=1.12, strikes="foot_r"),
    "check": Action(
        -0.26, 0.42, {"foot_l": held((0.32, 0.16, 0.50), -0.06, 0.14),
                      "pelvis": held((-0.06, -0.06, 0.90), -0.06, 0.14),
                      "chest": held((-0.04, -0.02, 1.28), -0.06, 0.14),
                      "hand_l": held((0.30, 0.14, 1.30), -0.06, 0.14)}),
    "slip": Action(
        -0.24, 0.40, {"head": held((0.14, -0.26, 1.36), -0.05, 0.12),
                      "chest": held((0.08, -0.12, 1.16), -0.05, 0.12),
                      "pelvis": held((0.0, -0.02, 0.80), -0.05, 0.12)}),
    "duck": Action(
        -0.30, 0.46, {"head": held((0.16, 0.10, 1.14), -0.08, 0.12),
                      "chest": held((0.08, 0.04, 0.96), -0.08, 0.12),
                      "pelvis": held((-0.06, 0.0, 0.62), -0.08, 0.12),
                      "hand_l": held((0.36, 0.16, 1.14), -0.08, 0.12),
                      "hand_r": held((0.26, -0.08, 1.12), -0.08, 0.12)}),
    "lean back": Action(
        -0.30, 1.10, {"head": held((-0.42, 0.0, 1.50), -0.05, 0.70),
                      "chest": held((-0.22, 0.0, 1.26), -0.05, 0.70),
                      "pelvis": held((-0.05, 0.0, 0.84), -0.05, 0.70),
                      "hand_l": held((0.16, 0.16, 1.34), -0.05, 0.70),
                      "hand_r": held((-0.04, -0.14, 1.26), -0.05, 0.70)},
        gap=1.06, stay=0.7),
    "tuck elbow": Action(
        -0.24, 0.46, {"hand_r": held((0.16, -0.12, 1.30), -0.06, 0.18),
                      "chest": held((0.02, -0.06, 1.18), -0.06, 0.18),
                      "head": held((0.06, -0.04, 1.43), -0.06, 0.18)}),
    "rocked": Action(
        -0.02, 0.50, {"head": [(0.10, (-0.07, -0.03, 1.52))], "chest": [(0.10, (-0.04, 0.0, 1.26))],
                      "pelvis": [(0.12, (-0.04, 0.0, 0.84))]}),
    "pushed": Action(
        -0.05, 1.1, {"head": [(0.18, (-0.06, 0.0, 1.46))], "chest": [(0.14, (-0.16, 0.0, 1.18))],
                     "pelvis": [(0.16, (-0.20, 0.0, 0.82))], "foot_r": [(0.2, (-0.42, -0.2, 0.05))],
                     "hand_l": [(0.2, (0.30, 0.26, 1.10))], "hand_r": [(0.2, (0.12, -0.34, 1.10))]}),
    "follow in square": Action(
        -0.90, 1.6, {"foot_l": held((0.04, 0.22, 0.05), -0.4, 1.1),
                     "foot_r": held((0.04, -0.22, 0.05), -0.4, 1.1),
                     "twist": held((0.0, 0.0, 0.0), -0.4, 1.1)},
        gap=1.20, stay=1.2),
    "leave with hands down": Action(
        -0.20, 3.2, {"hand_l": held((0.12, 0.30, 0.86), 0.25, 2.6),
                     "hand_r": held((0.06, -0.30, 0.86), 0.25, 2.6),
                     "head": held((0.02, 0.0, 1.57), 0.25, 2.6),
                     "twist": held((-15.0, -10.0, 0.0), 0.25, 2.6)},
        gap=2.1, stay=2.2),
    "rest": Action(
        -1.0, 1.0, {"hand_l": held((0.06, 0.28, 0.84), 0.0, 0.0),
                    "hand_r": held((0.02, -0.28, 0.84), 0.0, 0.0),
                    "head": held((0.02, 0.0, 1.56), 0.0, 0.0),
                    "foot_l": held((0.08, 0.14, 0.05), 0.0, 0.0),
                    "foot_r": held((-0.08, -0.14, 0.05), 0.0, 0.0),
                    "twist": held((-10.0, -10.0, 0.0), 0.0, 0.0)}),
}  # fmt: skip


def offsets(action: Action, t: float) -> Array:
    """How far the action moves each part off the stance, t seconds from its landing.

    Shape (len(PARTS), 3); zero before the action starts and after it ends.
    """
    moved = np.zeros_like(STANCE)
    if not action.start < t < action.end:
        return moved
    for part, places in action.keys.items():
        rest = np.zeros(3)
        path = [(dt, np.array(place) - STANCE[ROW[part]]) for dt, place in places]
        moved[ROW[part]] = along([(action.start, rest), *path, (action.end, rest)], t)
    return moved
