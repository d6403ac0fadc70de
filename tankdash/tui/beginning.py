"""How a garden begins: the demo laid out in a folder of its own, or a site file written from answers."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from zoneinfo import available_timezones

from tankdash.tui.keeper import Keeper
from tankdash.tui.trouble import BeginningError
from tankdash.units import Units

Clock = Callable[[], datetime]


def begin_demo(folder: Path, clock: Clock) -> Keeper:
    """Return the demo, laid out in `folder` unless it is there already.

    Raises
    ------
    BeginningError
        If the folder cannot be written.
    """
    from tankdash.keeping.demo import DemoError, laid_out, lay_out_demo

    try:
        return Keeper(laid_out(folder) or lay_out_demo(folder, clock()), None, clock)
    except DemoError as error:
        raise BeginningError(str(error)) from error


def begin_site(path: Path, text: str, clock: Clock) -> Keeper:
    """Write a new site file and return the garden.

    Raises
    ------
    BeginningError
        If the file cannot be written, or is there already.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        reason = error.strerror or str(error)
        raise BeginningError(f"{path} cannot be written ({reason}): choose another place.") from error
    return Keeper(path, None, clock)


def site_file() -> Path:
    """Return where a new site file is offered to be written: where the program looks for it by itself."""
    from platformdirs import user_config_path

    return user_config_path("tankdash", appauthor=False) / "tankdash.yaml"


def zone_here(environ: Mapping[str, str] | None = None) -> str:
    """Return the IANA name of this machine's zone; `UTC` when it does not tell.

    Examples
    --------
    >>> zone_here({"TZ": "Europe/Lisbon"}), zone_here({"TZ": "nonsense"})
    ('Europe/Lisbon', 'UTC')
    """
    found = os.environ if environ is None else environ
    name = found.get("TZ", "").lstrip(":")
    if not name:
        parts = Path("/etc/localtime").resolve().parts
        name = "/".join(parts[parts.index("zoneinfo") + 1 :]) if "zoneinfo" in parts else ""
    return name if name in available_timezones() else "UTC"


def units_here(environ: Mapping[str, str] | None = None) -> Units:
    """Return the units people of this locale measure in, as a first guess.

    Examples
    --------
    >>> units_here({"LANG": "en_US.UTF-8"}), units_here({"LANG": "pt_PT.UTF-8"})
    ('us', 'metric')
    """
    found = os.environ if environ is None else environ
    locale = found.get("LC_ALL") or found.get("LC_MEASUREMENT") or found.get("LANG") or ""
    return "us" if locale.startswith(("en_US", "es_US")) else "metric"
