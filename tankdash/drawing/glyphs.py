"""The signs pictures are drawn with: one set for terminals that show box drawing, one of plain ASCII."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Glyphs:
    """A set of signs, all of them one cell wide."""

    rising: str
    """From nothing to a full cell in eighths, growing upward."""
    hanging: str
    """From nothing to a full cell, growing downward; as many steps as the set has."""
    solid: str
    water: str
    below_outlet: str
    cut_off: str
    band: str
    cut_off_band: str
    line_low: str
    line_mid: str
    line_high: str
    """A level line near the foot, the middle and the top of a cell."""
    ghost: str
    datum: str
    wall: str
    wall_half: str
    """A wall that reaches only to the middle of its cell."""
    leans_left: str
    leans_right: str
    lid: str
    pipe: str
    pipe_up: str
    joint_right: str
    joint_left: str
    """Where a pipe leaves a tank to the right, to the left."""
    corners: str
    """Pipe corners: left-up, left-down, up-right, down-right."""
    closed: str
    unsure: str
    tap: str
    pump: str
    spout_right: str
    spout_left: str
    spill_away: str
    spill_right: str
    spill_left: str
    axis: str
    tick: str
    more_left: str
    more_right: str
    states: dict[str, str]
    """A sign for each state word."""


BOX = Glyphs(
    rising=" ▁▂▃▄▅▆▇█",
    hanging=" ▔▀█",
    solid="█",
    water=" ",
    below_outlet="·",
    cut_off="╱",
    band="░",
    cut_off_band="╱",
    line_low="▁",
    line_mid="╌",
    line_high="▔",
    ghost="┈",
    datum="▔",
    wall="│",
    wall_half="╷",
    leans_left="╲",
    leans_right="╱",
    lid="▔",
    pipe="═",
    pipe_up="║",
    joint_right="╞",
    joint_left="╡",
    corners="╝╗╚╔",
    closed="╳",
    unsure="?",
    tap="◉",
    pump="⊙",
    spout_right="╼",
    spout_left="╾",
    spill_away="↓",
    spill_right="→",
    spill_left="←",
    axis="│",
    tick="┤",
    more_left="‹",
    more_right="›",
    states={
        "dipped": "▾", "level": "≈", "cut-off": "╱", "carried": "~", "dry": "○", "full": "●",
        "vent-closed": "◍", "unknown": "?",
    },
)  # fmt: skip

PLAIN = Glyphs(
    rising=" ___--===",
    hanging=" '\"#",
    solid="#",
    water="~",
    below_outlet=".",
    cut_off="/",
    band=":",
    cut_off_band="/",
    line_low="_",
    line_mid="-",
    line_high="-",
    ghost="-",
    datum="-",
    wall="|",
    wall_half="|",
    leans_left="\\",
    leans_right="/",
    lid="-",
    pipe="=",
    pipe_up="H",
    joint_right="[",
    joint_left="]",
    corners="++++",
    closed="X",
    unsure="?",
    tap="o",
    pump="@",
    spout_right=">",
    spout_left="<",
    spill_away="v",
    spill_right=">",
    spill_left="<",
    axis="|",
    tick="+",
    more_left="<",
    more_right=">",
    states={
        "dipped": "v", "level": "=", "cut-off": "/", "carried": "~", "dry": "o", "full": "*",
        "vent-closed": "@", "unknown": "?",
    },
)  # fmt: skip


def glyphs(ascii: bool) -> Glyphs:
    """Return the set for a terminal that shows only ASCII, or the one for all others."""
    return PLAIN if ascii else BOX
