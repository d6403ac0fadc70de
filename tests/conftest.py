"""What all tests share: settings, and a home of one's own for those that look for files."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# A slow machine is no failing test: examples are limited by number, never by the clock. The same tree always tries
# the same ones, so that a build says something of the change; the long runs look for new ones.
IS_SHORT = os.environ.get("TANKDASH_LONG", "") in ("", "0")
settings.register_profile("by number", deadline=None, derandomize=IS_SHORT)
settings.load_profile("by number")


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep nothing in the cache folder of the person who runs the tests, and take nothing from it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TANKDASH_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the test a home of its own; nothing of the person who runs it is seen: folders, zone, terminal, language."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    monkeypatch.setenv("COLUMNS", "80")
    for folder in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(folder, raising=False)
    for setting in ("TANKDASH_SITE", "TANKDASH_ASCII", "NO_COLOR"):
        monkeypatch.delenv(setting, raising=False)
    return home
