"""What each field of each form asks for, said once.

The line under a field, its help and the page of help are made from this table; a test types every example in.
"""

from __future__ import annotations

from tankdash.tui.wants.entries import ENTRY_WANTS
from tankdash.tui.wants.garden import GARDEN_WANTS
from tankdash.tui.wants.want import Want

__all__ = ["TITLES", "WANTS", "Want"]

WANTS: dict[str, dict[str, Want]] = {**ENTRY_WANTS, **GARDEN_WANTS}
"""By form and field."""
TITLES: dict[str, str] = {
    "dip": "Dip",
    "rain": "Rain gauge",
    "use": "Water used",
    "tap": "Tap opened or closed",
    "move": "Water moved",
    "pump": "Pump switched on or off",
    "pour": "Water from elsewhere",
    "set": "Something was changed",
    "frost": "Forecast frost",
    "note": "Note",
    "garden": "Change the garden",
}
"""What stands at the top of each form a key opens."""
