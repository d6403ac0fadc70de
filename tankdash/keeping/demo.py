"""The built-in demo: an invented garden with a season of history and years of rain, laid out in a folder of its own.

Its dips follow from the program's own physics, read with a stick to half a centimetre, so that the balance finds
nothing; but for one rain that a matted leaf screen kept out.
"""

from __future__ import annotations

import math
import random
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from tankdash.journal.drafts import HistoryValue
from tankdash.journal.entries import Done, Entry, Imported, Note, Pour, Rain, Record, Use
from tankdash.journal.store import Draft, Journal, JournalError, default_journal_path
from tankdash.keeping.entering.records import enter_dip, enter_frost, enter_rain
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.when import instant, local
from tankdash.site import load_text
from tankdash.site.model import Site
from tankdash.site.starter import demo_text

DEMO_ZONE = ZoneInfo("Europe/Vienna")
"""Zone of the demo's garden."""
SITE_FILE = "tankdash.yaml"
SEASON_DAYS = 98
"""How far the history reaches back."""

RAINS: Mapping[int, str] = {
    96: "6.5 mm", 93: "14 mm", 92: "2.2 mm", 88: "trace", 85: "21 mm", 84: "4.5 mm", 79: "9 mm", 74: "17.5 mm",
    73: "0.4 mm", 68: "12 mm", 63: "26 mm", 62: "8 mm", 57: "3 mm", 52: "19 mm", 47: "11 mm", 46: "6 mm", 41: "24 mm",
    35: "15 mm", 31: "30-34 mm", 26: "7.5 mm", 22: "18 mm", 17: "trace", 13: "22 mm", 9: "5 mm", 6: "16 mm", 3: "8 mm",
    2: "6.5 mm", 1: "9 mm",
}  # fmt: skip
"""Gauge readings at eight in the morning, by how many days ago."""
MATTED = 41
"""The rain that the matted screen kept out, all but a fifth of it."""
PASSED = 0.2
"""Share of that rain that still found its way."""
DIPS: Mapping[int, tuple[str, ...]] = {
    98: ("gate",), 94: ("gate", "middle", "hedge"), 90: ("gate",), 87: ("hedge",), 83: ("gate",),
    78: ("gate",), 75: ("hedge",), 71: ("gate",), 66: ("gate",), 61: ("gate", "middle", "hedge"),
    58: ("gate",), 54: ("gate",), 50: ("hedge",), 45: ("gate",), 42: ("gate",), 40: ("gate",), 36: ("hedge",),
    33: ("gate",), 29: ("gate",), 25: ("gate",), 21: ("hedge",), 16: ("gate",), 12: ("gate",), 8: ("gate",),
    4: ("gate",),
}  # fmt: skip
"""Tanks dipped in the evening, by how many days ago."""
FORGOTTEN = frozenset({92, 84, 62, 46, 2, 1})
"""Rains after which nobody emptied the first-flush pipe."""
TICKS: Mapping[str, tuple[int, ...]] = {
    "screen": (97, 84, 72, 61, 40, 30, 21, 12),
    "vents": (95, 88, 81, 74, 67, 53, 46, 39, 32, 25, 18, 11, 4),
    "hoses": (78, 61, 45, 25, 8),
    "gutter": (72, 51, 29, 12),
    "survey": (94, 61),
    "fittings": (95,),
    "sludge": (90,),
}
"""Chores ticked, by how many days ago."""
FIRST_DIP = "64 cm"
PAST_YEARS = 10
"""Years of daily rain brought in at the start of the season."""
STATION = "village"
"""Where that rain is said to have been read."""


class DemoError(Exception):
    """The demo cannot be laid out; the message is a sentence that says what to do."""


def demo_folder() -> Path:
    """Return where the demo is laid out unless another folder is named."""
    from platformdirs import user_data_path

    return user_data_path("tankdash", appauthor=False) / "demo"


def laid_out(folder: Path) -> Path | None:
    """Return the site file of a demo laid out in `folder` before, None when there is none."""
    path = folder / SITE_FILE
    return path if path.exists() else None


def lay_out_demo(folder: Path, now: datetime) -> Path:
    """Write the demo's site file and journal into `folder` and return the site file.

    Parameters
    ----------
    folder : Path
        Made if it is not there; must be empty.
    now : datetime
        The history ends here.

    Raises
    ------
    DemoError
        If something lies in the folder already, or it cannot be written.
    """
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise DemoError(f"{folder} is not empty: name another folder for the demo.")
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{folder.name}.", dir=folder.parent) as scratch:
            made = Path(scratch) / "demo"
            made.mkdir(mode=0o700)
            text = demo_text(local(now, DEMO_ZONE).date())
            (made / SITE_FILE).write_text(text, encoding="utf-8")
            path = default_journal_path(made / SITE_FILE)
            try:
                _keep_a_season(path, load_text(text, SITE_FILE), now)
            except JournalError as problem:  # it speaks of a place that is gone by the time it is read
                raise DemoError(str(problem).replace(str(path), str(folder))) from problem
            if folder.exists():
                folder.rmdir()
            made.rename(folder)
    except OSError as problem:
        raise DemoError(f"{folder} cannot be written ({problem.strerror or problem}).") from problem
    return folder / SITE_FILE


def _keep_a_season(path: Path, site: Site, now: datetime) -> None:
    """Make the journal, with the rain of years past and the history up to `now`."""
    with Journal.open(path) as journal:
        first = local(now, site.zone).date() - timedelta(days=SEASON_DAYS)
        begun = datetime.combine(first, time(6), site.zone)
        past = past_rain(begun.year)
        journal.add_history(past, Imported(f"{STATION}.csv", "history", STATION, len(past)), begun)
        journal.add_many(season(site, now), now)


def season(site: Site, now: datetime) -> list[Draft]:
    """Return the history up to `now`, in order of time; the same for the same day."""
    return _Season(site, now).drafts


def past_rain(year: int) -> list[HistoryValue]:
    """Return the invented daily rain of the years before `year`, drier in summer; the same for the same year."""
    draw, day, values = random.Random(7), date(year - PAST_YEARS, 1, 1), []
    while day.year < year:
        is_wet = draw.random() < 0.36 + 0.12 * math.cos(day.timetuple().tm_yday / 58.1)
        depth = round(-5.0 * math.log(1.0 - draw.random()), 1) if is_wet else 0.0
        values.append(HistoryValue(STATION, day, "rain", depth, depth))
        day += timedelta(days=1)
    return values


class _Season:
    """A gardener's season, written down day by day."""

    def __init__(self, site: Site, now: datetime) -> None:
        self.site, self.now = site, now
        self.entries: list[Entry] = []
        self.drafts: list[Draft] = []
        for ago in range(SEASON_DAYS, -1, -1):
            self._morning(ago)
            self._evening(ago)

    def _at(self, ago: int, hour: int, minute: int = 0) -> datetime:
        day = local(self.now, self.site.zone).date() - timedelta(days=ago)
        return local(
            datetime(day.year, day.month, day.day, hour, minute, tzinfo=self.site.zone), self.site.zone
        )

    def _write(self, at: datetime, words: str, understand: Callable[[], Record], note: str = "") -> None:
        if instant(at) > instant(self.now):
            return
        record = understand()
        number = len(self.entries) + 1
        self.entries.append(Entry(number, f"demo-{number}", "demo", at, at, record, words, note))
        self.drafts.append(
            Draft(record, at, words, note, zone=self.site.zone.key, entered=at + timedelta(minutes=2))
        )

    def _levels(self, ago: int, at: datetime) -> Levels:
        """Return the water as it truly is: without what the matted screen kept out, with the rain read tomorrow."""
        true = [
            replace(entry, record=_through_the_mat(entry.record)) if entry.note == MATTED_NOTE else entry
            for entry in self.entries
        ]
        if ago - 1 in RAINS:
            rain = self._rain(ago - 1)
            if rain.start < at and rain.high_mm is not None:
                share = (at - rain.start) / (rain.end - rain.start)
                fallen = replace(rain, low_mm=rain.low_mm * share, high_mm=rain.high_mm * share, end=at)
                true.append(Entry(len(true) + 1, "", "rain", at, at, fallen, ""))
        return levels_of(self.site, replay(self.site, true, at))

    def _rain(self, ago: int) -> Rain:
        """Return the gauge reading of that morning; the hard rain came all in its night."""
        at = self._at(ago, 8)
        start = self._at(ago + 1, 23) if ago == MATTED else None
        return enter_rain(self.site, RAINS[ago], at, at, entries=self.entries, start=start)

    def _morning(self, ago: int) -> None:
        if ago % 3 == 2 and ago < 96:
            self._draw(ago, 45.0, "seedlings")
        if ago % 7 in (1, 4) and ago < 92:
            self._draw(ago, 150.0, "tomatoes")
        if ago in RAINS:
            at, depth = self._at(ago, 8), RAINS[ago]
            night = f" --from {self._at(ago + 1, 23):%Y-%m-%dT%H:%M}" if ago == MATTED else ""
            note = MATTED_NOTE if ago == MATTED else ""
            self._write(at, f"rain {depth}{night}", partial(self._rain, ago), note)
            if depth not in ("trace", "0.4 mm") and ago not in FORGOTTEN:
                self._write(self._at(ago, 8, 20), "done first-flush", partial(Done, "first-flush"))
        if ago == 96:
            at = self._at(ago, 19)
            self._write(at, "frost -1C", lambda: enter_frost(self.site, "-1 C", at), "clear sky")
        for chore, days in TICKS.items():
            if ago in days:
                self._write(self._at(ago, 9), f"done {chore}", partial(Done, chore))
        if ago == 40:
            self._write(self._at(ago, 9, 10), "note the screen was matted with blossom, wiped it", Note)

    def _evening(self, ago: int) -> None:
        if ago == 55:
            at = self._at(ago, 17)
            self._write(
                at,
                "pour 30L gate --what hose",
                partial(Pour, 30.0, "gate", "hose"),
                "rinsed the cans into it",
            )
        if ago in DIPS:
            self._dip(ago)

    def _draw(self, ago: int, volume_l: float, bed: str) -> None:
        use = partial(Use, volume_l, self.site.beds[bed].outlet, bed)
        self._write(self._at(ago, 7), f"use {volume_l:g}L --bed {bed}", use)

    def _dip(self, ago: int) -> None:
        at = self._at(ago, 20, 30)
        if instant(at) > instant(self.now):
            return
        levels = self._levels(ago, at)
        readings: dict[str, str] = {}
        for tank in DIPS[ago]:
            depth = levels.tanks[tank].depth_m
            if depth is None:
                readings[tank] = FIRST_DIP
                continue
            placed = self.site.tanks[tank]
            shown = placed.thing.brim - depth if placed.dip.measured_from == "brim" else depth
            readings[tank] = f"{round(shown * 200.0) / 2.0:g} cm"
        words = " ".join(f"{tank} {reading.replace(' ', '')}" for tank, reading in readings.items())
        self._write(at, f"dip {words}", lambda: enter_dip(self.site, levels.standing.layout, readings, at))


MATTED_NOTE = "hard rain, but little ran"
"""Stands at the rain that the matted screen kept out."""


def _through_the_mat(record: Record) -> Record:
    if not isinstance(record, Rain) or record.high_mm is None:
        return record
    return replace(record, low_mm=record.low_mm * PASSED, high_mm=record.high_mm * PASSED)
