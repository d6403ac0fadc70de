"""The gardens of the screenshots: the demo, and each example garden with a few entries."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from tankdash.keeping.desk import Desk, open_desk
from tankdash.keeping.entering.records import enter_dip, enter_done, enter_rain, enter_use
from tankdash.keeping.when import parse_time
from tankdash.tui.beginning import begin_demo

NOW = datetime(2026, 8, 21, 7, 30, tzinfo=ZoneInfo("Europe/Vienna"))
"""The time of all pictures."""

CONFIGS = Path(__file__).parents[2] / "configs"
"""The example gardens; they lie beside the program in its own tree."""

DEMO = "demo"
"""Name of the garden that is invented with its whole history."""


@dataclass(frozen=True)
class Typed:
    """Something typed in an example garden."""

    at: str
    """When, as one types it."""
    dips: Mapping[str, str] | None = None
    """Readings of the stick by tank."""
    rain: str = ""
    """What the gauge showed."""
    use: str = ""
    """What was drawn, and after `from` at which outlet."""
    done: str = ""
    """The chore that was done."""


EXAMPLES: Mapping[str, tuple[Typed, ...]] = {
    "balcony-two-butts": (
        Typed("2026-08-03 18:00", rain="0.3 in"),
        Typed("2026-08-12 18:00", dips={"door": "26 in"}),
        Typed("2026-08-12 18:10", done="mesh"),
        Typed("2026-08-14 18:00", use="6 gal from spigot"),
        Typed("2026-08-17 18:00", rain="0.4 in"),
        Typed("2026-08-19 18:00", use="3 gal from spigot"),
    ),
    "pumped-bank": (
        Typed("2026-08-02 09:00", rain="11 mm"),
        Typed("2026-08-15 09:00", dips={"cistern": "95 cm", "t01": "96 cm"}),
        Typed("2026-08-17 09:00", use="1800 L from field"),
        Typed("2026-08-20 09:00", rain="17 mm"),
    ),
    "terraces": (
        Typed("2026-08-08 08:00", rain="0.6 in"),
        Typed("2026-08-16 08:00", dips={"trough": "12 in", "drum": "15 in", "tall": "26 in"}),
        Typed("2026-08-18 08:00", use="12 gal from lower"),
    ),
    "three-totes": (
        Typed("2025-09-06 08:00", dips={"west": "62.1 cm", "mid": "37.7 cm", "east": "39.0 cm"}),
        Typed("2025-12-06 08:00", dips={"west": "79.0 cm", "mid": "19.6 cm", "east": "22.1 cm"}),
        Typed("2026-03-07 08:00", dips={"west": "81.9 cm", "mid": "16.0 cm", "east": "18.8 cm"}),
        Typed("2026-06-06 08:00", dips={"west": "65.2 cm", "mid": "32.4 cm", "east": "36.2 cm"}),
        Typed("2026-07-30 08:00", dips={"west": "57.0 cm", "mid": "39.8 cm", "east": "43.9 cm"}),
        Typed("2026-08-01 08:00", rain="13 mm"),
        Typed("2026-08-15 08:00", dips={"west": "58 cm"}),
        Typed("2026-08-15 08:10", done="first-flush"),
        Typed("2026-08-17 08:00", use="120 L from tap"),
        Typed("2026-08-20 08:00", rain="9 mm"),
    ),
}
"""What was typed in each example garden, by the name of its file."""


def lay_out(garden: str, folder: Path) -> tuple[Path, datetime]:
    """Lay a garden out in a folder with its journal; return its site file, and the morning of all pictures there."""
    if garden == DEMO:
        keeper = begin_demo(folder / DEMO, lambda: NOW)
        keeper.close()
        return keeper.site_path, NOW
    site_path = folder / f"{garden}.yaml"
    shutil.copy(CONFIGS / site_path.name, site_path)
    with open_desk(site_path) as desk:
        now = NOW.replace(tzinfo=desk.site.zone)
        for typed in EXAMPLES[garden]:
            _write(desk, typed, now)
    return site_path, now


def _write(desk: Desk, typed: Typed, now: datetime) -> None:
    """Write down what was typed, as a form or a command would."""
    site = desk.site
    at = parse_time(typed.at, site.zone, now)
    if typed.dips:
        words = " ".join(["dip", *(f"{tank} {text}" for tank, text in typed.dips.items())])
        desk.record(enter_dip(site, desk.layout(at), typed.dips, at), at, words, "", now)
    if typed.rain:
        rain = enter_rain(site, typed.rain, at, now, entries=desk.entries())
        desk.record(rain, at, f"rain {typed.rain}", "", now)
    if typed.use:
        volume, _, outlet = typed.use.partition(" from ")
        used = enter_use(site, desk.standing(at), volume, outlet)
        desk.record(used, at, f"use {volume} {outlet}", "", now)
    if typed.done:
        done = enter_done(site, typed.done, at, desk.entries(), now)
        desk.record(done, at, f"done {typed.done}", "", now)
