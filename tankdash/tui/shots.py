"""Writes the screenshots of the README: `python -m tankdash.tui.shots [FOLDER [NAME...]]`.

Headless and deterministic: every garden at a pinned time, no terminal, no clock.
"""

from __future__ import annotations

import asyncio
import os
import re
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo

from textual.pilot import Pilot
from textual.worker import WorkerCancelled

from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.registry import page_name
from tankdash.tui.shotgardens import DEMO, EXAMPLES, NOW, lay_out
from tankdash.tui.themes import DARK, LIGHT, SIXTEEN

USUAL = (120, 36)
SMALL = (80, 24)
SMALLEST = (60, 18)

PAGE_KEYS = {"home": "1", "tanks": "2", "rain": "3", "chores": "4", "supply": "5", "survey": "6", "log": "7"}
"""Pages that are taken dark and light, and their keys."""


@dataclass(frozen=True)
class Shot:
    """One picture."""

    name: str
    """Name of its file, without the ending."""
    size: tuple[int, int] = USUAL
    """Columns and lines."""
    theme: str = DARK.name
    """Colours."""
    garden: str = DEMO
    """Which garden: the demo or an example by the name of its file; with none it shows the first start."""
    keys: tuple[str, ...] = field(default_factory=tuple)
    """Keys pressed before it is taken."""
    page: str = "home"
    """What it shows, by its name in the registry; empty for a form."""
    has_colour: bool = True
    """Whether colours are shown, or signs alone as under NO_COLOR."""
    is_ascii: bool = False
    """Whether only ASCII is drawn."""


def _pages() -> tuple[Shot, ...]:
    """Return every page of `PAGE_KEYS`, dark and light."""
    return tuple(
        Shot(f"{page}-{word}", theme=theme, keys=() if page == "home" else (key,), page=page)
        for page, key in PAGE_KEYS.items()
        for word, theme in (("dark", DARK.name), ("light", LIGHT.name))
    )


def _design(part: str, size: tuple[int, int], word: str, theme: str, *keys: str) -> Shot:
    return Shot(f"design-{part}-{word}", size, theme, keys=("8", *keys), page="design")


SHOTS = (
    *_pages(),
    Shot("home-80x24", SMALL),
    Shot("home-80x24-light", SMALL, LIGHT.name),
    Shot("home-60x18", SMALLEST),
    Shot("home-list-56x16", (56, 16)),
    Shot("home-sixteen-colours", SMALL, SIXTEEN.name),
    Shot("home-no-colours", SMALL, SIXTEEN.name, has_colour=False),
    Shot("home-ascii", SMALL, is_ascii=True),
    *(Shot(f"garden-{garden}", garden=garden) for garden in EXAMPLES),
    Shot("survey-over-time-dark", garden="three-totes", keys=("6",), page="survey"),
    Shot("survey-over-time-80x24", SMALL, LIGHT.name, "three-totes", keys=("6", *"jjjjjjj"), page="survey"),
    Shot("dip-dark", keys=("d", "5", "8"), page=""),
    Shot("dip-80x24", SMALL, keys=("d", "5", "8"), page=""),
    Shot("dip-unreadable-80x24", SMALL, keys=("d", "5", "8", "c", "n", "enter"), page=""),
    Shot("rain-form-80x24", SMALL, keys=("r", "1", "2"), page=""),
    Shot("setup-dark", garden="", keys=("2",), page=""),
    Shot("welcome-80x24", SMALL, garden="", page="welcome"),
    Shot("use-form-dark", keys=("u", "4", "0", "0"), page=""),
    Shot("set-form-80x24", SMALL, keys=("s",), page=""),
    _design("storm", USUAL, "dark", DARK.name),
    _design("storm", SMALL, "80x24", DARK.name),
    _design("reach", SMALL, "80x24", DARK.name, "right", "right"),
    _design("size", USUAL, "dark", DARK.name, "left", "left"),
    _design("size", USUAL, "light", LIGHT.name, "left", "left"),
    _design("stick", USUAL, "light", LIGHT.name, "left"),
    Shot("help-80x24", SMALL, keys=("question_mark",), page="help"),
    Shot("cautions-80x24", SMALL, keys=("exclamation_mark",), page="cautions"),
)


async def settle(pilot: Pilot[int]) -> None:
    """Wait until threads have answered and what they said is on the screen."""
    for _ in range(3):
        await pilot.pause()
        with suppress(WorkerCancelled):  # a newer one took the place of one that was waited for
            await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def take(shot: Shot, folder: Path) -> Path:
    """Take one picture and return its file.

    Raises
    ------
    RuntimeError
        If the keys lead to another page than the one it is to show.
    """
    os.environ.pop("NO_COLOR", None)
    if not shot.has_colour:
        os.environ["NO_COLOR"] = "1"
    with tempfile.TemporaryDirectory() as scratch:
        site, now = lay_out(shot.garden, Path(scratch)) if shot.garden else (None, NOW)
        keeper = None if site is None else Keeper(site, None, lambda: now)
        app = TankdashApp(keeper, lambda: now, theme=shot.theme, ascii_only=shot.is_ascii)
        async with app.run_test(size=shot.size) as pilot:
            await settle(pilot)
            for key in shot.keys:
                await pilot.press(key)
                await settle(pilot)
            if page_name(app.screen) != shot.page:
                raise RuntimeError(
                    f"{shot.name} shows {page_name(app.screen) or 'a form'}, not {shot.page!r}"
                )
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


async def take_all(folder: Path, wanted: Callable[[Shot], bool] = lambda shot: True) -> list[Path]:
    """Take all pictures wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    return [await take(shot, folder) for shot in SHOTS if wanted(shot)]


def main() -> None:
    """Write the pictures into the folder named, or into `screenshots`."""
    os.environ.update(TZ=NOW.tzinfo.key if isinstance(NOW.tzinfo, ZoneInfo) else "UTC", LC_ALL="C.UTF-8")
    names = sys.argv[2:]
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    for file in asyncio.run(take_all(folder, lambda shot: not names or shot.name in names)):
        print(file)


if __name__ == "__main__":
    main()
