"""A garden of three totes on uneven blocks, with and without what else a garden has, and a way to type commands."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli.main import main

THREE_TOTES = """\
site: Three totes
timezone: Europe/Lisbon
units: metric
datum: top of the slab by the shed door
tanks:
  north:
    base: 20 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
    overflow: 95 cm
  middle:
    base: 17 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
  south:
    base: 23 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
links:
  north-middle: {join: [north, middle], ports: 8 cm, bore: 50 mm, run: 60 cm}
  middle-south: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm}
outlets:
  tap: {tank: south, at: 10 cm}
"""

GARDEN = (
    THREE_TOTES
    + """\
roofs:
  shed:
    area: 24 m2
    runoff: 0.9
    first_loss: 0.5 mm
    fills: north
    first_flush: {holds: 8 L, empties: by hand}
beds:
  tomatoes: {area: 12 m2, need: 25 mm/week, from: tap}
chores:
  drain-first-flush:
    label: Empty the first-flush pipe
    after_rain: {at_least: 0.5 mm}
    empties: shed
  wipe-screen: {label: Wipe the leaf screen, every: 2 weeks}
  fittings: {label: Wrap the fittings, frost: 0 C}
"""
)

NOW = "2026-06-10T12:00"


@dataclass
class Answer:
    """What a command gave back."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        parsed: dict[str, Any] = json.loads(self.out)
        return parsed


Type = Callable[..., Answer]


@pytest.fixture
def folder(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in an empty folder, with a home and an environment of its own."""
    stand = tmp_path / "garden"
    stand.mkdir()
    monkeypatch.chdir(stand)
    return stand


@pytest.fixture
def types(folder: Path, capfd: pytest.CaptureFixture[str]) -> Type:
    """Return a function that types a command and hands back what came of it."""

    def typed(*words: str, now: str | None = NOW) -> Answer:
        capfd.readouterr()
        code = main([*(["--now", now] if now else []), *words])
        out, err = capfd.readouterr()
        return Answer(code, out, err)

    return typed


@pytest.fixture
def garden(folder: Path) -> Path:
    """Return a garden with roof, bed and chores as the site file that is found by itself."""
    path = folder / "tankdash.yaml"
    path.write_text(GARDEN)
    return path


@pytest.fixture
def totes(folder: Path) -> Path:
    """Return the three totes alone as the site file that is found by itself."""
    path = folder / "tankdash.yaml"
    path.write_text(THREE_TOTES)
    return path
