"""What `check` says of a usable site: each warning for its own cause and for no other."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from tankdash.site import SiteWarning, check, load, load_text
from tankdash.site.loads import GROUNDS, pressure_when_full, weight_when_full
from tankdash.site.starter import demo_text

CONFIGS = Path(__file__).parents[2] / "configs"

HEAD = "site: Small\ntimezone: UTC\nunits: metric\ndatum: step\n"


def garden(tanks: str, rest: str = "", head: str = HEAD) -> str:
    first = tanks.strip().split(":")[0].strip()
    return f"{head}tanks:\n{tanks}outlets:\n  tap: {{tank: {first}, at: 1 cm}}\n{rest}"


def warned(text: str, code: str, day: date | None = None) -> list[str]:
    """Return the sentences of one code."""
    return [warning.text for warning in check(load_text(text), day) if warning.code == code]


BOX = "shape: {kind: box, length: 1 m, width: 60 cm, height: 1 m}"
LINK = "links:\n  hose: {join: [one, two], ports: 10 cm}\n"
ROOF = "roofs:\n  shed: {area: 20 m2, fills: one}\n"


def test_a_site_in_order_is_told_of_its_load_only() -> None:
    text = garden(f"  one: {{base: 0, {BOX}}}\n  two: {{base: 0, {BOX}}}\n", LINK + ROOF)
    assert {warning.code for warning in check(load_text(text))} == {"load"}


def test_F01_the_lower_overflow_caps_the_other_tank() -> None:
    # Plan area 0.60 m2 and 217 mm between the lips: 130 L of the first tank are never used.
    tanks = f"  one: {{base: 0, {BOX}}}\n  two: {{base: 0, {BOX}, overflow: 78.3 cm}}\n"
    (text,) = warned(garden(tanks, LINK + ROOF), "lips-differ")
    assert "two comes first" in text
    assert "130 L" in text
    assert "78.3 cm" in text and "100 cm" in text
    raised = tanks.replace("two: {base: 0", "two: {base: 21.7 cm")
    assert warned(garden(raised, LINK + ROOF), "lips-differ") == []


def test_lips_within_the_accuracy_of_the_stick_are_one_height() -> None:
    tanks = f"  one: {{base: 4 mm, {BOX}}}\n  two: {{base: 0, {BOX}}}\n"
    assert warned(garden(tanks, LINK), "lips-differ") == []
    assert warned(garden(tanks, LINK, HEAD + "accuracy: 3 mm\n"), "lips-differ")


def test_tanks_that_no_open_link_joins_may_spill_where_they_like() -> None:
    tanks = f"  one: {{base: 50 cm, {BOX}}}\n  two: {{base: 0, {BOX}}}\n"
    assert warned(garden(tanks), "lips-differ") == []
    assert warned(garden(tanks, LINK.replace("10 cm", "10 cm, valve: closed")), "lips-differ") == []


def test_the_worked_example_loses_two_hundred_litres_to_uneven_bases() -> None:
    tote = "shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm"
    bases = {"north": "20 cm, overflow: 95 cm", "middle": "17 cm", "south": "23 cm"}
    tanks = "".join(f"  {key}: {{base: {base}, {tote}}}\n" for key, base in bases.items())
    links = "links:\n  a: {join: [north, middle], ports: 8 cm}\n  b: {join: [middle, south], ports: 8 cm}\n"
    (text,) = warned(garden(tanks, links + "roofs:\n  shed: {area: 24 m2, fills: north}\n"), "lips-differ")
    assert "200 L" in text and "north comes first" in text


def test_F02_a_butt_with_a_port_above_the_highest_water_never_fills() -> None:
    # Highest water line 84 cm, top port 86 cm, rims 90 cm; 20 mm are missing.
    butt = "shape: {kind: upright, diameter: 50 cm, height: 90 cm}"
    tanks = (
        f"  one: {{base: 0, {butt}, overflow: 84 cm}}\n  two: {{base: 0, {butt}, overflow: 84 cm}}\n"
        f"  three: {{base: 0, {butt}}}\n"
    )
    links = LINK + "  top: {join: [two, three], ports: 86 cm}\n"
    (text,) = warned(garden(tanks, links + ROOF), "never-fills")
    assert text.startswith("three can never fill")
    assert "above 86 cm" in text and "84 cm when full" in text and "2 cm too low" in text
    # Lifting the feed's cut-off by an inch leaves 5.4 mm of head, and the third butt fills.
    lifted = tanks.replace("84 cm", "86.54 cm")
    assert warned(garden(lifted, links + ROOF), "never-fills") == []


@pytest.mark.parametrize(
    ("primed", "words"),
    [("unknown", "Nobody says which"), ("true", "loses that"), ("false", "nothing passes")],
)
def test_F06_a_crest_above_its_ports_is_told(primed: str, words: str) -> None:
    tanks = f"  one: {{base: 0, {BOX}}}\n  two: {{base: 0, {BOX}}}\n"
    (text,) = warned(garden(tanks, LINK.replace("10 cm", f"5 cm, crest: 55 cm, primed: {primed}")), "crest")
    assert "55 cm above the datum, over its ports at 5 cm" in text
    assert words in text


def test_a_tank_that_cannot_breathe() -> None:
    (text,) = warned(garden(f"  one: {{base: 0, {BOX}, vented: false}}\n"), "no-vent")
    assert "one has neither" in text
    assert warned(garden(f"  one: {{base: 0, {BOX}, vented: false, overflow: 90 cm}}\n"), "no-vent") == []
    assert warned(garden(f"  one: {{base: 0, {BOX}}}\n"), "no-vent") == []


def test_a_first_flush_under_four_tenths_of_a_millimetre() -> None:
    # 10 gal per 1000 sq ft, Texas Manual on Rainwater Harvesting (2005), ch. 2 (M): 0.407 mm passes.
    roof = "roofs:\n  shed: {area: 24 m2, fills: one, first_flush: {bore: 75 mm, length: 1.8 m}}\n"
    (text,) = warned(garden(f"  one: {{base: 0, {BOX}}}\n", roof), "small-first-flush")
    assert "0.33 mm" in text and "9.6 L" in text
    enough = "roofs:\n  shed: {area: 1000 sq ft, fills: one, first_flush: {holds: 10 US gal}}\n"
    assert warned(garden(f"  one: {{base: 0, {BOX}}}\n", enough), "small-first-flush") == []


def test_an_overflow_narrower_than_the_storm() -> None:
    # 60 m2 at 100 mm/h and 0.9 is 1.5 L/s; 50 mm under 10 cm of wall passes 0.6 x 1.963e-3 x sqrt(2g 0.075) = 1.43 L/s.
    shape = "shape: {kind: straight, holds: 1000 L, at: 1 m}, brim: 105 cm, overflow: 95 cm"
    tank = f"  one: {{base: 0, {shape}, overflow_bore: 50 mm}}\n"
    (text,) = warned(garden(tank, "roofs:\n  barn: {area: 60 m2, fills: one}\n"), "overflow-small")
    assert "1.43 L/s" in text and "1.5 L/s" in text
    assert warned(garden(tank, "roofs:\n  barn: {area: 50 m2, fills: one}\n"), "overflow-small") == []
    assert (
        warned(
            garden(tank.replace("50 mm", "75 mm"), "roofs:\n  barn: {area: 60 m2, fills: one}\n"),
            "overflow-small",
        )
        == []
    )


def test_water_is_not_sent_uphill() -> None:
    tanks = f"  one: {{base: 0, {BOX}, overflow: 90 cm, overflow_to: two}}\n  two: {{base: 5 cm, {BOX}}}\n"
    (text,) = warned(garden(tanks), "uphill")
    assert "one spills into two" in text
    assert warned(garden(tanks.replace("two: {base: 5 cm", "two: {base: -20 cm")), "uphill") == []


EFFECTLESS = [
    ("ports: 10 cm, primed: true", "`primed`"),
    ("ports: 10 cm, crest: 9 cm", "`crest`"),
    ("ports: 10 cm, bore: 50 mm", "`bore`"),
    ("ports: 10 cm, run: 1 m", "`run`"),
    ("ports: 10 cm, until: 2020-01-01", "same days"),
]


@pytest.mark.parametrize(("keys", "words"), EFFECTLESS)
def test_a_key_that_changes_nothing_is_named(keys: str, words: str) -> None:
    tanks = f"  one: {{base: 0, {BOX}, since: 2021-01-01}}\n  two: {{base: 0, {BOX}}}\n"
    (text,) = warned(garden(tanks, LINK.replace("ports: 10 cm", keys)), "no-effect")
    assert words in text and "hose" in text


def test_tank_keys_that_change_nothing_are_named() -> None:
    texts = warned(
        garden(f"  one: {{base: 0, {BOX}, dip: {{on_silt: true}}, overflow_bore: 50 mm}}\n"), "no-effect"
    )
    assert [words for text in texts for words in ("on_silt", "overflow_bore") if words in text] == [
        "on_silt",
        "overflow_bore",
    ]
    scale = "dip: {scale: [[0 cm, 90 cm], [90 cm, 0]], on_silt: true}, silt: 2 cm"
    (text,) = warned(garden(f"  one: {{base: 0, {BOX}, {scale}}}\n"), "no-effect")
    assert "by a scale" in text
    assert (
        warned(garden(f"  one: {{base: 0, {BOX}, dip: {{on_silt: true}}, silt: 2 cm}}\n"), "no-effect") == []
    )


def test_W2_the_load_of_a_full_tote() -> None:
    # From 998.2 kg/m3 (D): 1058 kg, 8.65 kPa on 1.0 x 1.2 m; three of 275 US gal are over three US tons (W1, T).
    tote = "shape: {kind: straight, holds: 1000 L, at: 1 m}, footprint: 1.0 x 1.2 m, tare: 60 kg"
    site = load_text(garden(f"  one: {{base: 0, {tote}}}\n"))
    assert weight_when_full(site.tanks["one"]) == pytest.approx(1058.2)
    assert pressure_when_full(site.tanks["one"]) == pytest.approx(8648, abs=1)
    texts = [warning.text for warning in check(site) if warning.code == "load"]
    assert texts[0] == "one weighs 1058 kg when full, 8.6 kPa on 1.2 m2 of base."
    assert "never a certificate" in texts[1] and "local code" in texts[1]
    us = load_text(
        garden(
            "  one: {base: 0, shape: {kind: straight, holds: 275 gal, at: 40 in}}\n",
            head=HEAD.replace("metric", "us"),
        )
    )
    assert 3 * weight_when_full(us.tanks["one"]) > 3 * 907.18474
    assert "2291 lb when full, the empty tank not counted" in check(us)[0].text


def test_W3_a_base_that_presses_harder_than_the_ground_may_bear() -> None:
    # International Building Code Table 1806.2 (P): gravel 3000, sand 2000, clay and silt 1500 lb/sq ft.
    assert [ground.bearing for ground in GROUNDS] == pytest.approx([143_641, 95_761, 71_820], abs=1)
    tank = "  one: {base: 0, shape: {kind: straight, holds: 1000 L, at: 1 m}, footprint: %s}\n"
    assert "above that of clay and silt" in warned(garden(tank % "0.12 m2"), "load")[-1]
    assert "above that of sand and clay and silt" in warned(garden(tank % "0.09 m2"), "load")[-1]
    assert "above that of" not in warned(garden(tank % "0.2 m2"), "load")[-1]


def test_like_tanks_are_told_together() -> None:
    texts = warned((CONFIGS / "pumped-bank.yaml").read_text(encoding="utf-8"), "load")
    assert len(texts) == 3
    assert "t01, t02" in texts[1] and "each weigh" in texts[1]


def test_the_layout_looked_at_is_the_one_of_the_day() -> None:
    tanks = f"  one: {{base: 0, {BOX}}}\n  two: {{base: 30 cm, {BOX}, until: 2025-12-31}}\n"
    text = garden(tanks, LINK)
    assert warned(text, "lips-differ", date(2025, 6, 1))
    assert warned(text, "lips-differ", date(2026, 6, 1)) == []
    assert warned(text, "lips-differ") == []


OWN_SITES = {path.stem: path.read_text(encoding="utf-8") for path in sorted(CONFIGS.glob("*.yaml"))}
OWN_SITES["demo"] = demo_text()


@pytest.mark.parametrize("text", [*OWN_SITES.values()], ids=[*OWN_SITES])
def test_no_key_of_our_own_sites_is_without_effect(text: str) -> None:
    assert warned(text, "no-effect") == []
    assert warned(text, "uphill") == []
    assert all(
        isinstance(warning, SiteWarning) and warning.text.isprintable() for warning in check(load_text(text))
    )


def test_the_terraces_say_that_nobody_knows_the_hose() -> None:
    site = load(CONFIGS / "terraces.yaml")
    assert any(warning.code == "crest" and "over-the-step" in warning.text for warning in check(site))


# --- Start-up -------------------------------------------------------------------------------------------------


def test_naming_a_site_loads_neither_pydantic_nor_yaml() -> None:
    heavy = ("pydantic", "ruamel", "numpy", "textual", "rich")
    script = (
        "import sys, tankdash.site, tankdash.site.model, tankdash.site.starter\n"
        f"print(*sorted(name for name in sys.modules if name.split('.')[0] in {heavy}))"
    )
    seen = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert seen.stdout.strip() == ""
