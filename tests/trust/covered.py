"""Coverage-guided attacks on what reads text, with atheris in a venv of one's own.

    python tests/trust/covered.py quantities -max_total_time=300

Without atheris it says how to get it. What it finds it prints with its bytes; make a test of it, named after its kind.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from datetime import UTC, datetime
from pathlib import Path


def watched() -> AbstractContextManager[object]:
    """Have what is imported watched for the ways it takes, if this runs by itself."""
    if __name__ != "__main__":
        return nullcontext()
    try:
        import atheris
    except ImportError:
        sys.exit(
            "Coverage-guided attacks need atheris: pip install atheris, in a venv that also has tankdash."
        )
    watching: AbstractContextManager[object] = atheris.instrument_imports(include=["tankdash"])
    return watching


with watched():
    from tankdash import units
    from tankdash.journal.daily import SheetRules, read_sheet
    from tankdash.journal.exchange import plan_restore
    from tankdash.journal.ghcn import plan_ghcn
    from tankdash.journal.lines import SheetError
    from tankdash.journal.store import Journal
    from tankdash.keeping.when import TimeError, ZoneInfo, parse_day, parse_time
    from tankdash.site import SiteError, load_text

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Lisbon")
SYSTEMS: tuple[units.Units, ...] = ("metric", "us", "imperial")


def quantities(content: bytes) -> None:
    """Read text as every sort of quantity."""
    text = content[1:].decode("utf-8", "replace")
    system = SYSTEMS[content[0] % 3] if content else "metric"
    for read in (
        units.parse_length, units.parse_length_range, units.parse_volume, units.parse_rain, units.parse_need,
        units.parse_rain_rate, units.parse_flow,
    ):  # fmt: skip
        _one(read, text, system)
    for plain in (
        units.parse_area,
        units.parse_span,
        units.parse_temperature,
        units.parse_pressure,
        units.parse_share,
    ):
        _one(plain, text)


def _one(read: Callable[..., object], *words: object) -> None:
    try:
        read(*words)
    except units.QuantityError as refused:
        assert "\n" not in str(refused) and len(str(refused)) < 1000, refused


def moments(content: bytes) -> None:
    """Read text as a time and a day."""
    text = content.decode("utf-8", "replace")
    for read in (parse_time, parse_day):
        try:
            read(text, ZONE, NOW)
        except TimeError as refused:
            assert "\n" not in str(refused), refused


def sites(content: bytes) -> None:
    """Read text as a site file."""
    try:
        load_text(content.decode("utf-8", "replace"))
    except SiteError as refused:
        assert refused.problems


def sheets(content: bytes) -> None:
    """Read bytes as a sheet, open data and an export."""
    file = Path(tempfile.gettempdir()) / f"tankdash-covered-{os.getpid()}.csv"
    file.write_bytes(content)
    journal = Journal(file.with_suffix(".db"))
    for read in (
        lambda: read_sheet(file, SheetRules(ZONE, "metric")),
        lambda: plan_ghcn(file, None, None, NOW),
        lambda: plan_restore(file, journal),
    ):
        try:
            read()
        except SheetError as refused:
            assert "\n" not in str(refused), refused
    file.unlink()


ATTACKS = {attack.__name__: attack for attack in (quantities, moments, sites, sheets)}

if __name__ == "__main__":
    import atheris

    name, *options = sys.argv[1:] or ["quantities"]
    if name not in ATTACKS:
        sys.exit(f"There is no attack {name!r}: there are {', '.join(ATTACKS)}.")
    atheris.Setup([sys.argv[0], *options], ATTACKS[name])
    atheris.Fuzz()
