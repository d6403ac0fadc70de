"""The one door from the command line to the screen, which is imported only when it opens."""

from __future__ import annotations

import gc
from datetime import datetime
from pathlib import Path


def open_screen(site: Path | None, journal: Path | None, now: datetime | None) -> int:
    """Open the screen and return the exit code once it is left.

    Parameters
    ----------
    site : Path or None
        The site file; None offers the demo or the guided setup.
    journal : Path or None
        The journal, if not beside the site file.
    now : datetime or None
        Taken for the present; None lets the clock run.
    """
    # All that is loaded to open the screen stays: there is nothing to collect before the first frame.
    gc.disable()
    from tankdash.tui.app import run_screen

    return run_screen(site, journal, now)
