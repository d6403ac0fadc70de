"""The worked example of the contract, through the command line to the last printed figure."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

EXPECTED: dict[str, Any] = {
    "tanks": {
        "north": {"depth_m": 0.6, "volume_l": 600.0, "usable_l": 470.0, "full_l": 950.0, "lip_m": 1.15},
        "middle": {"depth_m": 0.63, "volume_l": 630.0, "usable_l": 470.0, "full_l": 980.0, "lip_m": 1.22},
        "south": {"depth_m": 0.57, "volume_l": 570.0, "usable_l": 470.0, "full_l": 920.0, "lip_m": 1.28},
    },
    "pools": [
        {"tanks": ["north", "middle", "south"], "surface_m": 0.8, "spill_m": 1.15, "spills_at": "north"}
    ],
    "totals": {
        "volume_l": 1800.0,
        "low_l": 1800.0,
        "high_l": 1800.0,
        "usable_l": 1410.0,
        "below_outlet_l": 390.0,
        "full_l": 2850.0,
        "usable_full_l": 2460.0,
        "headroom_l": 1050.0,
        "lost_to_bases_l": 200.0,
        "percent": 57.3,
    },
    "settled": {"spread_m": 0.0, "settle_s": 0},
    "moved": {
        "caught_l": 0.0,
        "caught_low_l": 0.0,
        "caught_high_l": 0.0,
        "first_flush_l": 0.0,
        "spilled_l": 0.0,
        "used_l": 0.0,
        "short_l": 0.0,
    },
}


def assert_holds(expected: Any, given: Any, where: str = "levels") -> None:
    """Assert that every figure expected is given, to the last printed place; more may be given."""
    if isinstance(expected, dict):
        for key, value in expected.items():
            assert key in given, f"{where}.{key}"
            assert_holds(value, given[key], f"{where}.{key}")
    elif isinstance(expected, list) and expected and isinstance(expected[0], dict):
        assert len(expected) == len(given), where
        for number, value in enumerate(expected):
            assert_holds(value, given[number], f"{where}[{number}]")
    else:
        assert given == expected, where


def test_one_dip_tells_of_all_three_tanks(totes: Path, types: Any) -> None:
    answer = types("levels", "--dip", "north=60cm", "--json")
    assert (answer.code, answer.err) == (0, "")
    levels = answer.json
    assert list(levels)[:4] == ["schema", "site", "at", "basis"]
    assert (levels["schema"], levels["basis"]) == (1, "what-if")
    assert_holds(EXPECTED, levels)
    assert {tank["surface_m"] for tank in levels["tanks"].values()} == {0.8}
    assert [tank["state"] for tank in levels["tanks"].values()] == ["dipped", "level", "level"]
    assert "lips-differ" in {warning["code"] for warning in levels["warnings"]}
    assert not totes.with_name("tankdash.journal.db").exists(), "a what-if writes nothing"


def test_the_recorded_dip_says_the_same(totes: Path, types: Any) -> None:
    assert types("dip", "north", "60cm").code == 0
    levels = types("levels", "--json").json
    assert levels["basis"] == "dip"
    assert_holds(EXPECTED, levels)


def test_check_gives_what_uneven_bases_cost(totes: Path, types: Any) -> None:
    answer = types("check", "--json").json
    assert answer["problems"] == []
    assert answer["lost_to_bases_l"] == 200.0
    assert {key: tank["full_l"] for key, tank in answer["tanks"].items()} == {
        "north": 950.0,
        "middle": 980.0,
        "south": 920.0,
    }
    assert {warning["code"] for warning in answer["warnings"]} >= {"lips-differ"}


def test_the_text_says_it_in_the_sites_units(totes: Path, types: Any) -> None:
    out = types("levels", "--dip", "north=60cm").out
    assert "1800 L" in out
    assert "1410 L" in out
    assert "57 %" in out
    assert "\x1b" not in out


@pytest.mark.parametrize(
    "words",
    [
        ("levels", "--dip", "north=60cm", "south=57cm", "--json"),
        ("levels", "--json", "--dip", "south=57 cm"),
        ("--json", "levels", "--dip", "middle=63cm"),
    ],
)
def test_any_true_dip_gives_the_same_water(totes: Path, types: Any, words: tuple[str, ...]) -> None:
    assert_holds({"totals": EXPECTED["totals"], "pools": EXPECTED["pools"]}, types(*words).json)
