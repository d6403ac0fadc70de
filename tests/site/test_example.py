"""The worked example of the site file, and the sites that come with the program, read without a problem."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from math import pi
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tankdash.site import load, load_text
from tankdash.site.model import AfterRain, Chore, Season, Site
from tankdash.site.schema import SHAPE_PARTS, ChorePart
from tankdash.site.starter import DEMO_TODAY, KINDS, Answers, demo_text, starter
from tankdash.units import Span, Units
from tankdash.water.shapes import Box, Cone, Lying, Partly, Straight, Table, Taper, Upright

CONFIGS = Path(__file__).parents[2] / "configs"

EXAMPLE = """\
site: Windmill Hill garden
timezone: Europe/Lisbon            # an IANA name
units: metric                      # metric | us | imperial
datum: top of the paving slab by the shed door
accuracy: 5 mm

tanks:
  north:
    label: North tote
    base: 20 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
    overflow: 95 cm
    overflow_to: lower
    dip: {from: floor}
    silt: 0 cm
    vented: true
    since: 2026-03-01
  middle:
    base: 17 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
  south:
    base: 23 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
  lower:
    base: -60 cm
    shape: {kind: upright, diameter: 80 cm, height: 90 cm}
links:
  north-middle:
    join: [north, middle]
    ports: 8 cm
    crest: 40 cm
    bore: 50 mm
    run: 60 cm
    losses: 2.5
    valve: open
  middle-south: {join: [middle, south], ports: [8 cm, 80 mm]}
outlets:
  tap: {tank: south, at: 10 cm}
roofs:
  shed:
    area: 24 m2
    runoff: 0.9
    first_loss: 0.5 mm
    screen: 1.0
    fills: north
    first_flush: {bore: 75 mm, length: 1.8 m, empties: by hand}
beds:
  tomatoes:
    area: 12 m2
    need: 25 mm/week
    from: tap
    efficiency: 0.9
    height: 10 cm
    months: [4, 5, 6, 7, 8, 9, 10]
rain: {gap: 6 h, wet: 0.2 mm, booked: previous day}
chores:
  drain-first-flush:
    label: Empty the first-flush pipe
    after_rain: {at_least: 0.5 mm}
    within: 1 day
    empties: shed
  wipe-screen:
    label: Wipe the leaf screen
    after_rain: {at_least: 10 mm}
    every: 2 weeks
    season: 1 April to 31 October
  desludge:    {label: Check for sludge, every: 2 years, starting: 2026-03-01}
  month-end:   {label: Walk the line, every: 2 months, starting: 2023-12-31, counted_from: calendar}
  drain-down:  {label: Drain for winter, on: 1 November}
  fittings:    {label: Wrap or drain the fittings, frost: 0 C}
  low:         {label: Water only the seedlings, level_below: 30 %}
  flush-new:   {label: Flush the new tote before first use, by: 2026-04-15}
"""


@pytest.fixture(scope="module")
def example() -> Site:
    return load_text(EXAMPLE)


def test_the_head_of_the_file(example: Site) -> None:
    assert (example.name, example.units, example.accuracy) == ("Windmill Hill garden", "metric", 0.005)
    assert example.zone == ZoneInfo("Europe/Lisbon")
    assert example.datum == "top of the paving slab by the shed door"
    assert (example.rain.gap_hours, example.rain.wet_mm, example.rain.booked) == (6.0, 0.2, "previous day")


def test_a_tank_with_every_key(example: Site) -> None:
    north = example.tanks["north"]
    assert (north.label, north.since, north.until) == ("North tote", date(2026, 3, 1), None)
    assert (north.dip.measured_from, north.dip.offset, north.dip.on_silt) == ("floor", 0.0, False)
    tank = north.thing
    assert (tank.base, tank.brim, tank.overflow, tank.overflow_to) == (0.2, 1.05, 0.95, "lower")
    assert tank.shape == Straight(area=1.0, height=1.05)
    assert tank.lip_elevation == pytest.approx(1.15)
    assert tank.capacity == pytest.approx(1.05)


def test_what_is_left_out_takes_its_default(example: Site) -> None:
    lower = example.tanks["lower"]
    assert lower.label == "lower"
    assert lower.thing.brim == 0.9
    assert lower.thing.overflow is None
    assert lower.thing.vented
    link = example.links["middle-south"].thing
    assert (link.crest, link.primed, link.bore, link.run, link.losses, link.is_open) == (
        None,
        None,
        None,
        None,
        1.5,
        True,
    )


def test_links_ports_and_outlets(example: Site) -> None:
    link = example.links["north-middle"].thing
    assert (link.joins, link.ports, link.crest) == (("north", "middle"), (0.08, 0.08), 0.4)
    assert (link.primed, link.bore, link.run, link.losses) == (None, 0.05, 0.6, 2.5)
    assert example.links["middle-south"].thing.ports == (0.08, 0.08)
    tap = example.outlets["tap"].thing
    assert (tap.tank, tap.at, tap.kind) == ("south", 0.1, "tap")


def test_a_roof_and_its_first_flush(example: Site) -> None:
    roof = example.roofs["shed"].thing
    assert (roof.area, roof.runoff, roof.first_loss, roof.screen, roof.fills) == (
        24.0,
        0.9,
        0.0005,
        1.0,
        "north",
    )
    assert roof.first_flush is not None
    assert roof.first_flush.holds == pytest.approx(pi / 4 * 0.075**2 * 1.8)
    assert roof.first_flush.empties is None


def test_a_bed(example: Site) -> None:
    bed = example.beds["tomatoes"]
    assert (bed.outlet, bed.area, bed.efficiency, bed.height, bed.min_head) == ("tap", 12.0, 0.9, 0.1, 0.0)
    assert bed.need.kind == "depth"
    assert bed.need.per_day * 7 == pytest.approx(0.025)
    assert bed.months == frozenset(range(4, 11))


def test_every_chore_trigger(example: Site) -> None:
    chores = example.chores
    assert chores["drain-first-flush"].after_rain == AfterRain(at_least_mm=0.5)
    assert (chores["drain-first-flush"].within, chores["drain-first-flush"].empties) == (Span(days=1), "shed")
    assert (chores["wipe-screen"].every, chores["wipe-screen"].season) == (
        Span(days=14),
        Season((4, 1), (10, 31)),
    )
    assert (chores["desludge"].every, chores["desludge"].counted_from) == (Span(months=24), "done")
    assert (chores["month-end"].starting, chores["month-end"].counted_from) == (
        date(2023, 12, 31),
        "calendar",
    )
    assert chores["drain-down"].on == (11, 1)
    assert chores["fittings"].frost_c == 0.0
    assert chores["low"].level_below == 0.3
    assert chores["flush-new"].by == date(2026, 4, 15)


def test_every_shape_and_a_part_of_it() -> None:
    shapes = {
        "{kind: straight, holds: 1000 L, at: 100 cm}": Straight(1.0, 1.0),
        "{kind: box, length: 2 m, width: 1 m, height: 50 cm}": Box(2.0, 1.0, 0.5),
        "{kind: upright, diameter: 1 m, height: 1.5 m}": Upright(1.0, 1.5),
        "{kind: lying, diameter: 1 m, length: 2 m}": Lying(1.0, 2.0),
        "{kind: taper, bottom: 40 cm, top: 60 cm, height: 1 m}": Taper(0.4, 0.6, 1.0),
        "{kind: cone, diameter: 1 m, cone: 30 cm, height: 1.3 m}": Cone(1.0, 0.3, 1.3),
        "{kind: table, rows: [[0, 0], [50 cm, 400 L], [1 m, 1000 L]]}": Table(
            ((0, 0), (0.5, 0.4), (1.0, 1.0))
        ),
        "{kind: box, length: 2 m, width: 1 m, height: 50 cm, fill: 0.95}": Partly(Box(2.0, 1.0, 0.5), 0.95),
    }
    assert {yaml.split(",")[0].removeprefix("{kind: ") for yaml in shapes} == set(SHAPE_PARTS)
    for text, shape in shapes.items():
        tank = load_text(small(shape=text, at="10 cm")).tanks["a"].thing
        assert tank.shape == shape
        assert tank.brim == shape.height


def small(
    *,
    base: str = "0",
    shape: str = "{kind: straight, holds: 1000 L, at: 100 cm}",
    at: str = "5 cm",
    more: str = "",
    units: str = "metric",
) -> str:
    """Return a garden of one tank."""
    return (
        f"site: Small\ntimezone: UTC\nunits: {units}\ndatum: step\n"
        f"tanks:\n  a: {{base: {base}, shape: {shape}{more}}}\noutlets:\n  tap: {{tank: a, at: {at}}}\n"
    )


def test_a_bare_gallon_in_the_file_is_the_one_of_its_units() -> None:
    shape = "{kind: straight, holds: 100 gal, at: 3 ft}"
    us = load_text(small(shape=shape, units="us")).tanks["a"].thing.capacity
    imperial = load_text(small(shape=shape, units="imperial")).tanks["a"].thing.capacity
    assert us * 1000 == pytest.approx(378.5411784)
    assert imperial * 1000 == pytest.approx(454.609)


def test_a_tank_with_weight_gauge_scale_and_overflow_pipe() -> None:
    more = ", overflow: 95 cm, overflow_bore: 50 mm, footprint: 1.0 x 1.2 m, tare: 130 lb"
    placed = load_text(small(more=more + ", dip: {scale: [[0 cm, 90 cm], [90 cm, 0]]}")).tanks["a"]
    assert placed.thing.overflow_bore == 0.05
    assert placed.footprint == 1.2
    assert placed.tare == pytest.approx(58.967, abs=0.001)
    assert placed.dip.scale == ((0.0, 0.9), (0.9, 0.0))


def test_text_stays_text_where_old_yaml_would_guess() -> None:
    # YAML 1.1 read these as false, as 450 and as a date.
    text = (
        small()
        + "chores:\n  no: {label: no, on: 1 November, within: 12 h}\n  y: {label: 7:30, by: 2026-04-15}\n"
    )
    site = load_text(text)
    assert site.chores["no"].label == "no"
    assert site.chores["no"].on == (11, 1)
    assert site.chores["y"].label == "7:30"


def test_a_season_may_wrap_the_year_and_name_whole_months() -> None:
    text = (
        small()
        + "chores:\n  a: {on: 1 Jan, season: 1 November to 28 February}\n  b: {every: 1 day, season: April to June}\n"
    )
    chores = load_text(text).chores
    assert chores["a"].season == Season((11, 1), (2, 28))
    assert chores["b"].season == Season((4, 1), (6, 30))


def test_aliases_stand_for_what_they_name() -> None:
    text = small().replace("shape: {kind", "shape: &tote {kind") + "  t2: {tank: b, at: 1 cm}\n"
    text = text.replace("outlets:", "  b: {base: 1 cm, shape: *tote}\noutlets:")
    site = load_text(text)
    assert site.tanks["b"].thing.shape == site.tanks["a"].thing.shape


def test_a_header_with_a_port_for_each_tank_in_its_order() -> None:
    tanks = "".join(
        f"  {key}: {{base: 0, shape: {{kind: box, length: 1 m, width: 1 m, height: 1 m}}}}\n" for key in "bcd"
    )
    text = small().replace(
        "outlets:", f"{tanks}links:\n  h: {{join: [d, a, c], ports: [1 cm, 2 cm, 3 cm]}}\noutlets:"
    )
    link = load_text(text).links["h"].thing
    assert dict(zip(link.joins, link.ports, strict=True)) == {"d": 0.01, "a": 0.02, "c": 0.03}


# --- What comes with the program ------------------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted(CONFIGS.glob("*.yaml")), ids=lambda path: path.stem)
def test_each_example_site_opens_and_says_what_it_teaches(path: Path) -> None:
    site = load(path)
    assert site.path == path
    opening = path.read_text(encoding="utf-8").split("\n\n")[0]
    assert all(line.startswith("#") for line in opening.split("\n") if line)
    assert "What it teaches" in opening


def test_the_example_sites_differ_in_kind() -> None:
    sites = [load(path) for path in sorted(CONFIGS.glob("*.yaml"))]
    assert len(sites) >= 4
    assert {site.units for site in sites} == {"metric", "us", "imperial"}
    shapes = {type(placed.thing.shape).__name__ for site in sites for placed in site.tanks.values()}
    assert {"Straight", "Partly", "Box", "Upright", "Lying", "Taper", "Cone", "Table"} == shapes
    assert {len(site.tanks) for site in sites} == {2, 3, 5, 13}


def test_the_demo_has_every_kind_of_chore() -> None:
    chores = load_text(demo_text()).chores.values()
    rains = [chore.after_rain for chore in chores if chore.after_rain]
    assert any(rain.at_least_mm for rain in rains)
    assert any(rain.rains for rain in rains)
    assert any(rain.total_mm for rain in rains)
    for key in ("every", "season", "on", "by", "frost_c", "level_below", "empties", "within", "starting"):
        assert any(getattr(chore, key) is not None for chore in chores), key
    assert {chore.counted_from for chore in chores} == {"done", "calendar"}
    assert any(chore.after_rain and chore.every for chore in chores)


@pytest.mark.parametrize("today", [date(2024, 2, 29), date(2025, 9, 1), date(2031, 12, 31)])
def test_the_demo_moves_its_dates_with_the_day(today: date) -> None:
    now, then = load_text(demo_text(today)), load_text(demo_text())
    late, early = now.chores["spare-tap"].by, then.chores["spare-tap"].by
    assert late is not None and early is not None
    assert late - today == early - DEMO_TODAY
    since = now.tanks["hedge"].since
    assert since is not None and since < today


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_starter_of_any_kind_loads(kind: str, units: Units) -> None:
    text = starter(
        Answers(
            kinds=(kind, kind, kind),
            bases=("20 cm", "4 in"),
            link_height="5 cm",
            tap_height="3 in",
            roof_length="6 m",
            roof_width="12' 6\"",
            units=units,
        )
    )
    site = load_text(text)
    assert [placed.thing.base for placed in site.tanks.values()] == [0.2, 0.1016, 0.1016]
    assert len(site.links) == 2
    assert site.outlets["tap"].thing.tank == "tank-3"
    assert site.roofs["roof"].thing.area == pytest.approx(6 * 3.81)


def test_the_commented_lines_of_a_starter_load_once_uncommented() -> None:
    text = starter(Answers(roof_length="6 m", roof_width="4 m"))
    lines = []
    for line in text.split("\n"):
        bare = line.replace("# ", "", 1)
        is_example = line.lstrip().startswith("# ") and bare.strip().split(":")[0] in (
            "overflow",
            "dip",
            "first_flush",
            "beds",
            "tomatoes",
            "roofs",
            "roof",
            "area",
            "runoff",
            "fills",
        )
        lines.append(bare if is_example else line)
    site = load_text("\n".join(lines).replace("#   tomatoes", "  tomatoes"))
    assert site.tanks["tank-1"].thing.overflow == 0.95
    assert site.tanks["tank-1"].dip.measured_from == "brim"
    assert site.roofs["roof"].thing.first_flush is not None
    assert "tomatoes" in site.beds


@pytest.mark.parametrize(
    "name", ["Ann's: #1 plot", "null", "- x", "[a]", '"quoted"', "yes", "a, b", "Grüner Winkel", "42", "true"]
)
def test_a_starter_keeps_any_name(name: str) -> None:
    assert load_text(starter(Answers(name=name, datum=name))).name == name


def test_a_starter_refuses_what_it_cannot_write() -> None:
    for answers in (
        Answers(kinds=("jug",)),
        Answers(kinds=()),
        Answers(bases=("20",)),
        Answers(tap_height="low"),
    ):
        with pytest.raises(ValueError):
            starter(answers)


def test_every_key_of_a_chore_reaches_the_site() -> None:
    whole = {
        "label": "Look at it",
        "after_rain": "{rains: 3}",
        "every": "2 weeks",
        "counted_from": "calendar",
        "starting": "2026-03-01",
        "season": "1 April to 31 October",
        "on": "1 May",
        "frost": "0 C",
        "level_below": "30 %",
        "within": "2 days",
        "empties": "shed",
    }
    once = {"by": "2026-04-15"}
    roof = "roofs: {shed: {area: 9 m2, fills: a, first_flush: {holds: 8 L, empties: by hand}}}\n"
    chores = "".join(
        f"  {name}: {{{', '.join(f'{key}: {text}' for key, text in keys.items())}}}\n"
        for name, keys in (("whole", whole), ("once", once))
    )
    site = load_text(small() + roof + "chores:\n" + chores)
    untold = {
        field.name
        for field in fields(Chore)
        if all(getattr(chore, field.name) == field.default for chore in site.chores.values())
    }
    assert untold == set()
    assert whole.keys() | once.keys() == set(ChorePart.model_fields)


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
def test_a_garden_begun_in_the_south_has_no_chore_asleep_in_its_summer(units: Units) -> None:
    """Nobody is asked on which half of the earth the garden lies: what the starter brings holds on both (N1)."""
    site = load_text(starter(Answers(timezone="Australia/Hobart", units=units, kinds=("tote", "barrel"))))
    assert site.chores["vents"].every is not None
    assert all(chore.season is None for chore in site.chores.values())
