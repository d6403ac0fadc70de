"""What every test shares: how Hypothesis searches, and a home of its own for each test."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# No deadline: the machine's speed is measured in tests/bench, never asserted in a test.
settings.register_profile("search", deadline=None)
# In the build the same examples every time, so that a red run is a red change.
settings.register_profile("build", deadline=None, derandomize=True)
settings.load_profile("build" if os.environ.get("CI") else "search")


@pytest.fixture(autouse=True)
def a_home_of_its_own(tmp_path_factory, monkeypatch):
    """Keep every test away from the owner's site files and settings."""
    home = tmp_path_factory.mktemp("home")
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(home))
    for name in ("TANKDASH_SITE", "NO_COLOR", "COLORTERM"):
        monkeypatch.delenv(name, raising=False)
