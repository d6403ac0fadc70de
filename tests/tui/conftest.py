"""What each test of the screen gets: a home of its own, and a garden."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from plots import SITE, Garden


@pytest.fixture(autouse=True)
def stands_at_home(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let each test stand in a folder of its own, with a home of its own."""
    monkeypatch.chdir(tmp_path)


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
