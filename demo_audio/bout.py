"""Where the two fighters stand, face and move, from the first frame of the footage to the last.

Times in seconds, lengths in metres, angles in radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from geometry import Array, eased
from moves import ACTIONS, ROW, STANCE, offsets
from words import Moment, Rounds, moments_of

SEED = 7
FPS = 25
GAP = 1.62  # how far apart the two stand between exchanges
CORNERS = 3.3  # and during the rest
STRIDE = 0.55  # ground covered by one full pair of steps


@dataclass
class Fighter:
    """One figure's track through the footage; `frames` = footage length * FPS."""

    name: str
    ground: Array  # shape (frames, 2): x (right) and y (away from the camera)
    heading: Array  # shape (frames,): the way she faces, 0 = right
    moments: list[Moment]
    resting: Array  # shape (frames,): 1 = hands down
    walked: Array  # shape (frames,): metres so far
    beat: float  # phase of her bounce

    def pose(self, frame: int) -> Array:
        """Her pose in her own axes at one frame, shape (len(PARTS), 3)."""
        t = frame / FPS
        pose = STANCE + self.resting[frame] * offsets(ACTIONS["rest"], 0.0)
        for moment in self.moments:
            pose = pose + offsets(ACTIONS[moment.does], t - moment.at)
        return self._stepped(self._bounced(pose, frame), frame)

    def _bounced(self, pose: Array, frame: int) -> Array:
        """The pose with head, trunk and hands bobbing, less while she rests."""
        lively = 1.0 - 0.7 * self.resting[frame]
        wave = lively * np.sin(2 * np.pi * 1.7 * frame / FPS + self.beat)
        for part in ("pelvis", "chest", "head", "hand_l", "hand_r"):
            pose[ROW[part], 2] += 0.016 * wave
        for part in ("hand_l", "hand_r"):
            pose[ROW[part], 0] += 0.02 * lively * np.sin(2 * np.pi * 0.95 * frame / FPS + self.beat)
        return pose

    def _stepped(self, pose: Array, frame: int) -> Array:
        """The pose with its planted feet stepping as fast as the figure moves."""
        here = slice(max(0, frame - 2), frame + 3)
        speed = FPS * np.ptp(self.walked[here]) / 4
        size = eased(speed / 0.9)
        for part, shift in (("foot_l", 0.0), ("foot_r", np.pi)):
            phase = 2 * np.pi * self.walked[frame] / STRIDE + shift
            pose[ROW[part], 0] += 0.08 * size * np.sin(phase)
            pose[ROW[part], 2] += 0.07 * size * max(0.0, float(np.cos(phase)))
        return pose


def smoothed(track: Array, seconds: float) -> Array:
    """The track, shape (frames,), under a Gaussian of that many seconds' sigma."""
    sigma = seconds * FPS
    reach = int(4 * sigma)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    padded = np.pad(track, reach, mode="edge")
    return np.asarray(np.convolve(padded, kernel / kernel.sum(), mode="valid"))


def gap_tracks(moments: Sequence[Moment], times: Array, lead: str) -> tuple[Array, Array]:
    """How far apart they stand, and how much of that `lead` gave or took; both (frames,).

    The second track is signed metres: the middle between the two is shifted by it towards
    the other fighter, so that whoever attacks is the one who steps.
    """
    gap, shift = np.full(len(times), GAP), np.zeros(len(times))
    for moment in moments:
        action = ACTIONS[moment.does]
        if action.gap is None:
            continue
        slow = abs(action.gap - GAP) / 2.4
        rise = (times - (moment.at - 0.12 - slow)) / slow
        fall = ((moment.at + action.stay + 1.6 * slow) - times) / (1.6 * slow)
        weight = np.array([eased(x) for x in np.minimum(rise, fall)])
        closer = weight * (action.gap - GAP)
        stronger = np.abs(closer) > np.abs(gap - GAP)
        gap = np.where(stronger, GAP + closer, gap)
        side = 1.0 if moment.who == lead else -1.0
        shift = np.where(stronger, -side * closer / 2, shift)
    return smoothed(gap, 0.06), smoothed(shift, 0.06)


def restlessness(moments: Sequence[Moment], rounds: Rounds, names: Sequence[str]) -> list[Moment]:
    """Feints and loose jabs for the stretches in which the script tells no move."""
    rng = np.random.default_rng(SEED)
    extra, t = [], rounds.first_starts_at + 1.0
    end = rounds.start(rounds.count) + rounds.length
    while t < end:
        quiet = all(not m.at - 1.6 < t < m.at + ACTIONS[m.does].end + 1.2 for m in moments)
        if quiet and rounds.fighting(t - 0.5) and rounds.fighting(t + 1.2):
            who = names[int(rng.integers(len(names)))]
            does = "jab" if who == names[1] and rng.random() < 0.3 else "feint"
            extra.append(Moment(t, who, does, lands=False))
        t += float(rng.uniform(0.9, 1.9))
    return extra


def wandering(times: Array, live: Array, shift: Array) -> tuple[Array, Array, Array]:
    """The line through the two fighters as it turns and drifts about the ring.

    Its angle, shape (frames,); its direction and the middle between the two, both
    (frames, 2). `live`, shape (frames,), is 0 in the rest, when the line comes home.
    """
    angle = live * (0.34 * np.sin(times / 5.3) + 0.20 * np.sin(times / 3.1 + 1.0))
    line = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    middle = np.stack([0.42 * np.sin(times / 6.7), 0.34 * np.sin(times / 4.9 + 2.0)], axis=1)
    return angle, line, live[:, None] * (middle + shift[:, None] * line)


def stage(script: dict[str, Any]) -> list[Fighter]:
    """Both fighters' tracks for the whole footage, the script's subject first."""
    rounds = Rounds(**script["rounds"])
    names = sorted((a["name"] for a in script["athletes"]), key=lambda n: n != script["subject"])
    moments = moments_of(script, ACTIONS)
    moments += restlessness(moments, rounds, names)
    times = np.arange(int(script["footage"]["length"] * FPS)) / FPS
    gap, shift = gap_tracks(moments, times, names[0])
    off = np.array([0.0 if rounds.fighting(t) else 1.0 for t in times])
    apart = smoothed(off, 0.35)
    gap = gap + apart * (CORNERS - gap)
    angle, line, middle = wandering(times, 1.0 - apart, shift)
    fighters = []
    for number, name in enumerate(names):
        ground = middle + (number - 0.5) * gap[:, None] * line
        steps = np.linalg.norm(np.diff(ground, axis=0, prepend=ground[:1]), axis=1)
        fighters.append(
            Fighter(
                name=name,
                ground=ground,
                heading=angle + number * np.pi,
                moments=[m for m in moments if m.who == name],
                resting=smoothed(off, 0.25),
                walked=np.cumsum(steps),
                beat=2.1 * number,
            )
        )
    return fighters
