"""The pictures of README.md: none is missing, and each shows what its name says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tankdash.tui.registry import PAGES
from tankdash.tui.shotgardens import CONFIGS, EXAMPLES
from tankdash.tui.shots import SHOTS, SMALL, SMALLEST, USUAL, take
from tankdash.tui.themes import DARK, LIGHT

TREE = Path(__file__).parents[2]


def test_every_page_is_taken_and_the_garden_s_pages_dark_and_light() -> None:
    assert {shot.page for shot in SHOTS} - {""} == set(PAGES)
    for page in set(PAGES) - {"welcome", "help", "cautions"}:
        for theme in (DARK.name, LIGHT.name):
            assert any(shot.page == page and shot.theme == theme and shot.size == USUAL for shot in SHOTS), (
                page
            )
    assert {shot.size for shot in SHOTS if shot.page == "home"} >= {USUAL, SMALL, SMALLEST}


def test_every_example_garden_is_taken_with_something_in_its_tanks() -> None:
    configs = {file.stem for file in CONFIGS.glob("*.yaml")}
    assert configs
    assert {shot.garden for shot in SHOTS} >= configs
    assert set(EXAMPLES) == configs
    assert all(any(typed.dips for typed in entries) for entries in EXAMPLES.values())


def test_the_pictures_kept_are_those_of_the_list() -> None:
    names = [shot.name for shot in SHOTS]
    assert len(names) == len(set(names))
    assert sorted(file.stem for file in (TREE / "screenshots").glob("*.svg")) == sorted(names)


@pytest.mark.parametrize("name", [f"garden-{garden}" for garden in EXAMPLES])
async def test_a_picture_is_the_same_each_time_and_shows_water(name: str, tmp_path: Path) -> None:
    shot = next(shot for shot in SHOTS if shot.name == name)
    first = (await take(shot, tmp_path)).read_text(encoding="utf-8")
    assert "usable" in first
    assert "No&#160;dip" not in first
    if name == "garden-terraces":
        assert (await take(shot, tmp_path)).read_text(encoding="utf-8") == first
