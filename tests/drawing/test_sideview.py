"""The side view: true to height, exact in size, and telling every kind of water apart."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from math import ceil

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tankdash.drawing.canvas import ROLES, Row, as_text
from tankdash.drawing.cells import text_width
from tankdash.drawing.levellist import level_list
from tankdash.drawing.scene import Scene
from tankdash.drawing.sideview import first_shown, side_view
from tankdash.water.shapes import Cone, Lying, Taper, Upright

Garden = Callable[..., Scene]
Golden = Callable[[str, list[Row]], None]

ONE_RUN = settings(
    max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)

PICTURES = [
    ("three-totes-80x11", "three totes", (80, 11), {}),
    ("three-totes-120x20", "three totes", (120, 20), {}),
    ("three-totes-48x12", "three totes", (48, 12), {}),
    ("three-totes-40x8", "three totes", (40, 8), {}),
    ("three-totes-ink-80x14", "three totes", (80, 14), {"ink": True}),
    ("three-totes-ascii-80x14", "three totes", (80, 14), {"ascii": True}),
    ("three-totes-list-39x6", "three totes", (39, 6), {"ink": True}),
    ("two-terraces-80x16", "two terraces", (80, 16), {"ink": True}),
    ("four-shapes-100x22", "four shapes", (100, 22), {"ink": True}),
    ("four-shapes-ascii-100x22", "four shapes", (100, 22), {"ascii": True}),
    ("twelve-butts-first-80x12", "row of butts", (80, 12), {}),
    ("twelve-butts-middle-80x12", "row of butts", (80, 12), {"first": 3}),
    ("twelve-butts-last-80x12", "row of butts", (80, 12), {"first": 11}),
    ("cut-off-band-80x12", "one cut off", (80, 12), {"ink": True}),
]


@pytest.mark.parametrize(("name", "which", "size", "how"), PICTURES, ids=[picture[0] for picture in PICTURES])
def test_picture_is_the_one_we_looked_at(
    garden: Garden, golden: Golden, name: str, which: str, size: tuple[int, int], how: dict[str, object]
) -> None:
    golden(name, side_view(garden(which), *size, **how))  # type: ignore[arg-type]


def test_pictures_of_dry_and_full_totes(garden: Garden, golden: Golden) -> None:
    golden("three-totes-dry-80x12", side_view(garden("three totes", 0.0), 80, 12, ink=True))
    golden("three-totes-full-80x12", side_view(garden("three totes", 0.95), 80, 12, ink=True))
    golden("three-totes-low-80x12", side_view(garden("three totes", 0.06), 80, 12, ink=True))


def test_picture_with_a_ghost_of_the_last_dip(garden: Garden, golden: Golden) -> None:
    ghost = dict.fromkeys(("north", "middle", "south"), 1.1)
    golden("three-totes-ghost-80x14", side_view(garden("three totes", ghost=ghost), 80, 14, ink=True))


@given(
    width=st.integers(20, 200),
    height=st.integers(4, 60),
    which=st.sampled_from(["three totes", "two terraces", "four shapes", "row of butts", "one cut off"]),
    plain=st.booleans(),
    first=st.integers(-2, 20),
)
@ONE_RUN
def test_every_size_is_filled_to_the_cell(
    garden: Garden, width: int, height: int, which: str, plain: bool, first: int
) -> None:
    rows = side_view(garden(which), width, height, ascii=plain, first=first)
    assert len(rows) == height
    for row in rows:
        assert sum(text_width(span.text) for span in row) == width
        assert all(span.role in ROLES for span in row)
    if plain:
        assert as_text(rows).isascii()
    assert rows == side_view(garden(which), width, height, ascii=plain, first=first)


def _surface(rows: list[Row]) -> float:
    """Return how high the highest surface sign stands, in eighths above the foot of the picture; -1 when dry."""
    for line, row in enumerate(rows):
        for span in row:
            if span.role == "surface":
                return (len(rows) - line) * 8.0 + max(" ▁▂▃▄▅▆▇█".find(char) for char in span.text)
    return -1.0


@given(
    one=st.floats(0.0, 1.0),
    more=st.floats(0.0, 1.0),
    height=st.integers(8, 40),
    base=st.floats(-0.5, 2.0),
    shape=st.sampled_from([Upright(1.0, 1.0), Lying(1.0, 1.0), Cone(1.0, 0.4, 1.0), Taper(0.3, 0.8, 1.0)]),
)
@ONE_RUN
def test_more_water_never_stands_lower(
    garden: Garden, one: float, more: float, height: int, base: float, shape: object
) -> None:
    low, high = sorted((one, more))
    lower = side_view(garden("one tank", low, shape=shape, base=base), 60, height)
    higher = side_view(garden("one tank", high, shape=shape, base=base), 60, height)
    assert _surface(lower) <= _surface(higher)


def test_a_centimetre_shows_where_there_is_room_for_it(garden: Garden) -> None:
    pictures = [
        as_text(side_view(garden("one tank", depth / 100, base=0.0), 60, 20)) for depth in range(0, 101)
    ]
    assert len(set(pictures)) >= 100


def test_tanks_of_a_pool_show_their_surface_at_one_height(garden: Garden) -> None:
    for height in range(8, 40):
        rows = side_view(garden("three totes"), 90, height)
        lines = [line for line, row in enumerate(rows) if any(span.role == "surface" for span in row)]
        assert len(lines) == 1, height


def test_each_block_is_as_high_as_its_base(garden: Garden) -> None:
    rows = side_view(garden("three totes"), 80, 43)
    # 40 lines show 1.28 m above the datum with one line of ground and one of air: a block of 0.20 m is a
    # little over six of them.
    step = 1.28 / 38
    blocks = [
        line for line, row in enumerate(rows) for span in row if span.role == "base" and "█" in span.text
    ]
    assert len(set(blocks)) == ceil(0.23 / step) - 1


def test_the_three_kinds_of_water_differ_without_colour(garden: Garden) -> None:
    for how in ({"ink": True}, {"ascii": True}):
        rows = side_view(garden("one cut off", 0.3), 80, 14, **how)  # type: ignore[arg-type]
        signs = {
            role: {
                char for row in rows for span in row if span.role == role for char in span.text if char != " "
            }
            for role in ("water", "below-outlet", "cut-off")
        }
        assert all(signs.values())
        assert not signs["water"] & signs["below-outlet"]
        assert not signs["water"] & signs["cut-off"]
        assert not signs["below-outlet"] & signs["cut-off"]


def test_a_doubtful_volume_is_drawn_and_written_as_a_range(garden: Garden) -> None:
    rows = side_view(garden("one cut off"), 80, 14)
    assert "0–360 L" in as_text(rows)
    assert "cut off" in as_text(rows)
    assert any(span.role == "cut-off-band" for row in rows for span in row)
    assert not any(span.role == "cut-off" for row in rows for span in row)


def test_a_band_has_a_surface_below_and_an_edge_above(garden: Garden) -> None:
    rows = side_view(garden("four shapes"), 100, 90, ink=True)
    signs = ["".join(span.text for span in row if span.role == "band") for row in rows]
    edge, *body = [set(line) for line in signs if line]
    assert edge <= set("▁╌▔")
    assert set.union(*body) >= {"░"}
    kinds = [span.role for row in rows for span in row if span.role in ("band", "surface")]
    assert kinds.index("band") < kinds.index("surface"), "the sure surface is the band's foot"


@pytest.mark.parametrize("size", [(120, 20), (80, 14), (51, 13), (58, 8), (40, 8)])
def test_each_surface_is_written_at_its_line(garden: Garden, size: tuple[int, int]) -> None:
    rows = side_view(garden("three totes"), *size)
    drawn = next(spot for spot, row in enumerate(rows) if any(span.role == "surface" for span in row))
    assert "80 cm" in as_text(rows[drawn - 1 : drawn + 2])
    terraces = as_text(side_view(garden("two terraces"), 80, 16))
    assert "2.3 m" in terraces
    assert "55 cm" in terraces


def test_what_keeps_water_back_is_named(garden: Garden) -> None:
    held = as_text(side_view(garden("one cut off", 0.5), 100, 12))
    assert "below link" in held, "the far butt stands higher than the tap, and no link leads out so low"
    assert "below outlet" in as_text(side_view(garden("three totes"), 120, 20))


def test_the_name_of_an_outlet_is_never_cut_within_a_word(garden: Garden) -> None:
    labels = {"north": "North", "middle": "Middle", "south": "South", "tap": "Watering can tap"}
    scene = garden("three totes", labels=labels)
    told = {width: as_text(side_view(scene, width, 20)) for width in (40, 51, 60, 120)}
    assert "◉ tap" in told[40]
    assert "◉ tap" in told[51]
    assert "◉ Watering…" in told[60]
    assert "◉ Watering can tap" in told[120]


def test_ports_that_differ_by_less_than_a_line_are_drawn_level(garden: Garden) -> None:
    for height in range(10, 20):
        text = as_text(side_view(garden("three totes"), 80, height))
        assert "╗" not in text, height
        assert "╔" not in text, height
    assert "╔" in as_text(side_view(garden("three totes"), 80, 60)), "where there is room the step is shown"


def test_a_closed_valve_is_crossed_and_an_open_one_is_not(garden: Garden) -> None:
    closed = as_text(side_view(garden("two terraces"), 100, 20))
    opened = as_text(side_view(garden("two terraces", is_open=True), 100, 20))
    assert "╳" in closed
    assert "╳" not in opened


def test_a_crest_nobody_knows_is_marked(garden: Garden) -> None:
    assert "?" in "".join(
        span.text for row in side_view(garden("four shapes"), 100, 22) for span in row if span.role == "link"
    )


def test_tanks_out_of_view_are_counted_and_reached(garden: Garden) -> None:
    scene = garden("row of butts")
    seen = set()
    for first in range(12):
        text = as_text(side_view(scene, 80, 12, first=first))
        seen |= set(re.findall(r"Butt (\d+)", text))
    assert seen == {str(number) for number in range(1, 13)}
    assert "6 more›" in as_text(side_view(scene, 80, 12))
    assert "‹6 more" in as_text(side_view(scene, 80, 12, first=99))


@given(label=st.text(max_size=40))
@ONE_RUN
def test_a_label_never_leaks_control_characters(garden: Garden, label: str) -> None:
    scene = garden("one tank", 0.5, label=label)
    for rows in (side_view(scene, 60, 14), level_list(scene, 50, 3)):
        text = "".join(span.text for row in rows for span in row)
        assert not any(
            ord(char) < 32 or 127 <= ord(char) < 160 or char in "\u202a\u202e\u2066\u200f" for char in text
        )
        assert all(
            sum(text_width(span.text) for span in row) == (60 if len(rows) == 14 else 50) for row in rows
        )


def test_a_garden_high_above_its_datum_still_fills_the_picture(garden: Garden) -> None:
    rows = side_view(garden("one tank", 0.5, base=12.0), 60, 14)
    wet = [row for row in rows if any(span.role in ("water", "surface", "below-outlet") for span in row)]
    assert len(wet) >= 4


def test_forty_tanks_are_drawn_in_a_few_milliseconds(garden: Garden) -> None:
    scene = garden("row of butts", 40)
    side_view(scene, 120, 20)
    took = []
    for _ in range(15):
        start = time.perf_counter()
        side_view(scene, 120, 20)
        took.append(time.perf_counter() - start)
    assert min(took) < 0.008


def test_scrolling_ends_at_the_last_tanks_and_comes_back_at_once(garden: Garden) -> None:
    scene = garden("row of butts")
    last = first_shown(scene, 80, 12, 99)
    assert last == 6
    assert side_view(scene, 80, 12, first=last) == side_view(scene, 80, 12, first=99)
    assert side_view(scene, 80, 12, first=last - 1) != side_view(scene, 80, 12, first=last)
    assert first_shown(garden("three totes"), 80, 12, 2) == 0
