"""What each test of the screen gets: a home of its own, and a garden."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from plots import SITE, Garden


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give each test its own home, config and data folders, zone and terminal."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(home / name.lower()))
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    for name in ("NO_COLOR", "TANKDASH_SITE", "TANKDASH_ASCII"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    return home


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    """Return a garden dipped on Monday, rained on since: the pipe is to be emptied and the screen wiped."""
    path = tmp_path / "garden.yaml"
    path.write_text(SITE, encoding="utf-8")
    made = Garden(path)
    made.dip("sunday 18:00", north="60 cm")
    made.rain("12 mm", "monday 7:00")
    return made


@pytest.fixture
def bare_garden(tmp_path: Path) -> Garden:
    """Return a garden with an empty journal."""
    path = tmp_path / "garden.yaml"
    path.write_text(SITE, encoding="utf-8")
    return Garden(path)
