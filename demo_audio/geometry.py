"""Soft paths, turns and two-piece limbs. Lengths in metres, angles in radians."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def eased(x: float) -> float:
    """A soft ramp from 0 to 1 over x in [0, 1], flat outside."""
    x = min(1.0, max(0.0, x))
    return x * x * (3 - 2 * x)


def along(keys: Sequence[tuple[float, Array]], t: float) -> Array:
    """The value at t on the soft path through (time, value) keys, shape (3,)."""
    if t <= keys[0][0]:
        return keys[0][1]
    for (t0, v0), (t1, v1) in itertools.pairwise(keys):
        if t <= t1:
            share = eased((t - t0) / (t1 - t0)) if t1 > t0 else 1.0
            return v0 + share * (v1 - v0)
    return keys[-1][1]


def turned(yaw: float) -> Array:
    """The matrix, shape (3, 3), that takes a fighter's axes to the world's."""
    c, s = float(np.cos(yaw)), float(np.sin(yaw))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def bent(root: Array, tip: Array, first: float, second: float, pole: Array) -> tuple[Array, Array]:
    """The joint and the tip of a two-piece limb from root towards tip, bent to the pole's side.

    Points have shape (3,); a tip out of reach is pulled in.
    """
    reach = tip - root
    far = float(np.linalg.norm(reach))
    direction = reach / far
    far = min(far, 0.999 * (first + second))
    near = (first**2 - second**2 + far**2) / (2 * far)
    side = pole - direction * float(pole @ direction)
    side /= float(np.linalg.norm(side))
    joint = root + direction * near + side * float(np.sqrt(max(0.0, first**2 - near**2)))
    return joint, root + direction * far
