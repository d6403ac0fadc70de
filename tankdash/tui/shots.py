"""Writes the screenshots of the README: `python -m tankdash.tui.shots [FOLDER]`.

Headless and deterministic: the demo at a pinned time, no terminal, no clock.
"""

from __future__ import annotations

import asyncio
import math
import os
import random
import re
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from textual.pilot import Pilot

from tankdash.journal.drafts import HistoryValue
from tankdash.journal.entries import Imported
from tankdash.tui.app import TankdashApp
from tankdash.tui.beginning import begin_demo
from tankdash.tui.themes import DARK, LIGHT, SIXTEEN

NOW = datetime(2026, 8, 21, 7, 30, tzinfo=ZoneInfo("Europe/Vienna"))
"""The time of all pictures."""

PAST_ENTERED = datetime(2026, 3, 1, 9, 0, tzinfo=NOW.tzinfo)
"""When the rain of past years was brought in."""

USUAL = (120, 36)
SMALL = (80, 24)
SMALLEST = (60, 18)


@dataclass(frozen=True)
class Shot:
    """One picture."""

    name: str
    """Name of its file, without the ending."""
    size: tuple[int, int] = USUAL
    """Columns and lines."""
    theme: str = DARK.name
    """Colours."""
    site: bool = True
    """Whether there is a garden; without one it shows the first start."""
    keys: tuple[str, ...] = field(default_factory=tuple)
    """Keys pressed before it is taken."""


SHOTS = (
    Shot("home-dark"),
    Shot("home-light", theme=LIGHT.name),
    Shot("home-80x24", SMALL),
    Shot("home-80x24-light", SMALL, LIGHT.name),
    Shot("home-60x18", SMALLEST),
    Shot("home-list-56x16", (56, 16)),
    Shot("home-sixteen-colours", SMALL, SIXTEEN.name),
    Shot("dip-dark", keys=("d", "5", "8")),
    Shot("dip-80x24", SMALL, keys=("d", "5", "8")),
    Shot("dip-unreadable-80x24", SMALL, keys=("d", "5", "8", "c", "n", "enter")),
    Shot("rain-form-80x24", SMALL, keys=("r", "1", "2")),
    Shot("setup-dark", site=False, keys=("2",)),
    Shot("welcome-80x24", SMALL, site=False),
    Shot("use-form-dark", keys=("u", "4", "0", "0")),
    Shot("set-form-80x24", SMALL, keys=("s",)),
    Shot("tanks-dark", keys=("2",)),
    Shot("tanks-light", theme=LIGHT.name, keys=("2",)),
    Shot("rain-dark", keys=("3",)),
    Shot("rain-light", theme=LIGHT.name, keys=("3",)),
    Shot("chores-dark", keys=("4",)),
    Shot("chores-light", theme=LIGHT.name, keys=("4",)),
    Shot("supply-dark", keys=("5",)),
    Shot("supply-light", theme=LIGHT.name, keys=("5",)),
    Shot("survey-dark", keys=("6",)),
    Shot("survey-light", theme=LIGHT.name, keys=("6",)),
    Shot("log-dark", keys=("7",)),
    Shot("log-light", theme=LIGHT.name, keys=("7",)),
    Shot("design-storm-dark", keys=("8",)),
    Shot("design-storm-80x24", SMALL, keys=("8",)),
    Shot("design-reach-80x24", SMALL, keys=("8", "right", "right")),
    Shot("design-size-dark", keys=("8", "left", "left")),
    Shot("design-size-light", theme=LIGHT.name, keys=("8", "left", "left")),
    Shot("design-stick-light", theme=LIGHT.name, keys=("8", "left")),
    Shot("help-80x24", SMALL, keys=("question_mark",)),
    Shot("cautions-80x24", SMALL, keys=("exclamation_mark",)),
)


async def settle(pilot: Pilot[int]) -> None:
    """Wait until threads have answered and what they said is on the screen."""
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def take(shot: Shot, site: Path, folder: Path) -> Path:
    """Take one picture and return its file."""
    from tankdash.tui.keeper import Keeper

    def clock() -> datetime:
        return NOW

    keeper = Keeper(site, None, clock) if shot.site else None
    app = TankdashApp(keeper, clock, theme=shot.theme, ascii_only=False)
    async with app.run_test(size=shot.size) as pilot:
        await settle(pilot)
        for key in shot.keys:
            await pilot.press(key)
            await settle(pilot)
        picture = app.export_screenshot(title=f"tankdash, {shot.size[0]} x {shot.size[1]}")
    file = folder / f"{shot.name}.svg"
    file.write_text(steady(picture, shot.name), encoding="utf-8")
    return file


def steady(picture: str, name: str) -> str:
    """Return the picture the same each time and complete in itself.

    The running number in its ids becomes its name, the font from elsewhere the reader's own, and letters a little
    taller, so that the blocks of neighbouring lines touch as they do in a terminal.
    """
    found = re.search(r"terminal-(\d+)-", picture)
    if found:
        picture = picture.replace(f"terminal-{found[1]}-", f"{name}-")
    picture = re.sub(r"@font-face \{.*?\}\s*", "", picture, flags=re.DOTALL)
    picture = picture.replace("Fira Code", "DejaVu Sans Mono, Menlo, Consolas")
    return picture.replace("font-size: 20px", "font-size: 21.3px")


def past_rain() -> list[HistoryValue]:
    """Return ten invented years of daily rain, wetter in winter, the same each time."""
    draw, day, values = random.Random(7), date(2016, 1, 1), []
    while day < date(2026, 1, 1):
        is_wet = draw.random() < 0.36 + 0.12 * math.cos(day.timetuple().tm_yday / 58.1)
        depth = round(-5.0 * math.log(1.0 - draw.random()), 1) if is_wet else 0.0
        values.append(HistoryValue("village", day, "rain", depth, depth))
        day += timedelta(days=1)
    return values


async def take_all(folder: Path, wanted: Callable[[Shot], bool] = lambda shot: True) -> list[Path]:
    """Take all pictures wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        keeper = begin_demo(Path(scratch) / "demo", lambda: NOW)
        with keeper.desk() as desk:
            past = past_rain()
            batch = Imported("village.csv", "history", "village", len(past))
            desk.journal.add_history(past, batch, PAST_ENTERED)
        keeper.close()
        return [await take(shot, keeper.site_path, folder) for shot in SHOTS if wanted(shot)]


def main() -> None:
    """Write the pictures into the folder named, or into `screenshots`."""
    os.environ.pop("NO_COLOR", None)
    os.environ.update(TZ=NOW.tzinfo.key if isinstance(NOW.tzinfo, ZoneInfo) else "UTC", LC_ALL="C.UTF-8")
    names = sys.argv[2:]
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    for file in asyncio.run(take_all(folder, lambda shot: not names or shot.name in names)):
        print(file)


if __name__ == "__main__":
    main()
