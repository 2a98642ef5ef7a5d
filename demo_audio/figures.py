"""The body of a fighter: her pose turned into limbs to be drawn. Points have shape (3,), metres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from bout import Fighter
from drawing import Blob, Colour, Limb
from geometry import Array, bent, eased, turned
from moves import ROW

UPPER_ARM, FOREARM, THIGH, SHIN = 0.30, 0.29, 0.44, 0.44
SHOULDER_HALF, HIP_HALF, SHOULDER_RISE = 0.19, 0.10, 0.12


@dataclass(frozen=True)
class Kit:
    """What a fighter wears."""

    main: Colour
    dark: Colour
    glove: Colour
    hair: Colour


KITS = (
    Kit((38, 166, 154), (22, 100, 98), (32, 190, 172), (70, 46, 34)),
    Kit((239, 128, 50), (160, 74, 26), (250, 146, 62), (32, 30, 36)),
)
SKIN: Colour = (236, 190, 158)
GUARD: Colour = (236, 238, 242)


def arm(shoulder: Array, hand: Array, out: Array, kit: Kit) -> Limb:
    """Sleeve, forearm and glove."""
    elbow, hand = bent(shoulder, hand, UPPER_ARM, FOREARM, np.array([0.0, 0.0, -1.0]) + 0.5 * out)
    wrist = hand + 0.25 * (elbow - hand)
    return [
        Blob(shoulder, elbow, 0.060, 0.048, SKIN),
        Blob(shoulder, shoulder + 0.4 * (elbow - shoulder), 0.072, 0.066, kit.main),
        Blob(elbow, hand, 0.048, 0.042, SKIN),
        Blob(wrist, hand, 0.058, 0.085, kit.glove),
    ]


def leg(hip: Array, ankle: Array, forward: Array, toe: Array, kit: Kit) -> Limb:
    """Shorts, knee, shin guard and foot; the toe is a direction of unit length."""
    knee, ankle = bent(hip, ankle, THIGH, SHIN, forward)
    return [
        Blob(hip, knee, 0.092, 0.066, SKIN),
        Blob(knee, ankle, 0.066, 0.046, SKIN),
        Blob(knee + 0.12 * (ankle - knee), ankle, 0.072, 0.056, GUARD),
        Blob(ankle, ankle + 0.17 * toe, 0.050, 0.036, SKIN),
        Blob(hip, hip + 0.58 * (knee - hip), 0.104, 0.104, kit.dark),
    ]


def lift_of(part: str, pose: Array) -> float:
    """How far a foot is off the floor: 0 planted, 1 from 0.4 metres up."""
    return eased((pose[ROW[part], 2] - 0.1) / 0.3)


def toe_of(part: str, pose: Array, axes: Array) -> Array:
    """Which way a foot points, in the world, shape (3,)."""
    lift = lift_of(part, pose)
    yaw = np.radians(-10.0 if part == "foot_l" else -45.0) * (1 - lift)
    raised = 0.9 if part == "foot_l" else -0.2  # a teep's toes point up, a kick's away
    flat = np.array([np.cos(yaw), np.sin(yaw), 0.0])
    toe = (1 - lift) * flat + lift * np.array([0.5, 0.0, raised])
    return np.asarray(axes @ (toe / np.linalg.norm(toe)))


def body(fighter: Fighter, frame: int, kit: Kit) -> list[tuple[Array, Limb]]:
    """One fighter's limbs, each with the world point it is sorted by."""
    pose = fighter.pose(frame)
    axes = turned(float(fighter.heading[frame]))
    base = np.array([*fighter.ground[frame], 0.0])
    at = {part: base + axes @ pose[row] for part, row in ROW.items() if part != "twist"}
    hips, shoulders = np.radians(pose[ROW["twist"], :2])
    hip_left = axes @ turned(hips) @ np.array([0.0, 1.0, 0.0])
    shoulder_left = axes @ turned(shoulders) @ np.array([0.0, 1.0, 0.0])
    up = (at["chest"] - at["pelvis"]) / np.linalg.norm(at["chest"] - at["pelvis"])
    neck = at["chest"] + SHOULDER_RISE * up
    forward = axes @ np.array([1.0, 0.0, 0.0])

    limbs: list[tuple[Array, Limb]] = [
        (at["chest"], trunk(at["pelvis"], at["chest"], neck, shoulder_left, kit)),
        (at["head"], head(at["head"], neck, forward, kit)),
    ]
    for side, end in ((1.0, "l"), (-1.0, "r")):
        shoulder = neck - 0.04 * up + side * SHOULDER_HALF * shoulder_left
        hip = at["pelvis"] + side * HIP_HALF * hip_left
        hand, foot = at[f"hand_{end}"], at[f"foot_{end}"]
        limbs.append(((shoulder + hand) / 2, arm(shoulder, hand, side * shoulder_left, kit)))
        lift = lift_of(f"foot_{end}", pose)
        bend = forward + 0.35 * side * hip_left + np.array([0.0, 0.0, 1.5 * lift])
        limbs.append(((hip + foot) / 2, leg(hip, foot, bend, toe_of(f"foot_{end}", pose, axes), kit)))
    return limbs


def trunk(pelvis: Array, chest: Array, neck: Array, left: Array, kit: Kit) -> Limb:
    """Shirt and waistband."""
    wide = 0.72 * SHOULDER_HALF * left
    return [
        Blob(pelvis, chest, 0.125, 0.150, kit.main),
        Blob(neck - 0.05 * (neck - chest) - wide, neck + wide, 0.085, 0.085, kit.main),
        Blob(pelvis - 0.02 * (chest - pelvis), pelvis + 0.08 * (chest - pelvis), 0.135, 0.13, kit.dark),
    ]


def head(centre: Array, neck: Array, forward: Array, kit: Kit) -> Limb:
    """Neck, ponytail, head guard and face."""
    back = centre - 0.10 * forward
    down = np.array([0.0, 0.0, -1.0])
    brow = centre + 0.062 * forward
    return [
        Blob(neck, centre, 0.055, 0.055, SKIN),
        Blob(back, back - 0.09 * forward + 0.13 * down, 0.045, 0.022, kit.hair),
        Blob(centre - 0.02 * forward, centre + 0.005 * down, 0.122, 0.122, kit.main),
        Blob(brow - 0.022 * down, brow + 0.035 * down, 0.070, 0.062, SKIN),
    ]
