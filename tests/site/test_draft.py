"""A garden while it is changed by answers: what they come to in the file."""

from __future__ import annotations

from datetime import date

import pytest

from tankdash.site import load_text
from tankdash.site.document import parse_document
from tankdash.site.draft import ALWAYS, HEAD, NEVER, STANDS, UNTIL, Draft
from tankdash.site.editing import Put, Take, edited
from tankdash.site.starter import KINDS, Answers, starter

TODAY = date(2026, 5, 6)
TEXT = """\
site: Fig tree corner
timezone: UTC
units: metric
datum: the step
tanks:
  one: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm, fill: 95 %}, brim: 105 cm}
  two: {base: 20 cm, shape: {kind: table, rows: [[0, 0], [1 m, 900 L]]}, until: 2026-05-06}
  gone: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, until: 2025-12-31}
  later: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}, until: 2030-01-01}
links:
  star: {join: [one, two, later], ports: [8 cm, 8 cm, 9 cm]}
outlets:
  tap: {tank: one, at: 10 cm}
"""


def draft(text: str = TEXT) -> Draft:
    return Draft(parse_document(text, "x").root, TODAY)


def test_an_untouched_garden_has_no_changes_whatever_was_looked_at() -> None:
    garden = draft()
    for section in ("tanks", "links", "outlets"):
        for key in garden.ids(section):
            for name in (*garden.keys((section, key)), STANDS):
                garden.put((section, key), name, garden.value((section, key), name))
    for name in garden.keys((HEAD, "")):
        garden.put((HEAD, ""), name, garden.value((HEAD, ""), name))
    assert garden.changes() == []


def test_what_has_left_is_not_asked_about_and_what_leaves_today_is() -> None:
    garden = draft()
    assert garden.ids("tanks") == ["one", "two", "later"]
    assert garden.first(("tanks", "two"), STANDS) == UNTIL
    assert garden.first(("tanks", "later"), STANDS) == STANDS
    garden.put(("tanks", "two"), STANDS, STANDS)
    garden.put(("tanks", "later"), STANDS, UNTIL)
    assert garden.changes() == [
        Take(("tanks", "two", "until")),
        Put(("tanks", "later", "until"), "2026-05-06"),
    ]


def test_a_header_keeps_its_joins_and_shows_a_height_for_each() -> None:
    garden = draft()
    assert "join.0" not in garden.keys(("links", "star"))
    assert garden.value(("links", "star"), "ports") == "8 cm; 8 cm; 9 cm"
    garden.put(("links", "star"), "ports", "8 cm; 9 cm; 9 cm")
    assert garden.changes() == [Put(("links", "star", "ports"), ["8 cm", "9 cm", "9 cm"])]


def test_a_table_has_no_measures_to_type_and_a_share_has() -> None:
    garden = draft()
    assert [key for key in garden.keys(("tanks", "two")) if key.startswith("shape")] == ["shape.kind"]
    assert "shape.fill" in garden.keys(("tanks", "one"))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
def test_a_new_tank_of_each_kind_makes_a_file_that_loads(kind: str, units: str) -> None:
    text = starter(Answers(kinds=("tote", "butt"), bases=("0",), units=units, tap_height="0"))  # type: ignore[arg-type]
    garden = Draft(parse_document(text, "x").root, TODAY, units)  # type: ignore[arg-type]
    tank = garden.add("tanks")
    garden.put(tank, "shape.kind", kind)
    for section in ("links", "outlets", "roofs"):
        garden.add(section)
    site = load_text(edited(text, garden.changes()))
    assert site.tanks["tank-3"].since == TODAY
    assert site.links["link-1"].thing.joins == ("tank-2", "tank-3")
    assert site.outlets["outlet-3"].thing.tank == "tank-3"
    assert site.roofs["roof-1"].thing.fills == "tank-1"


def test_a_new_tank_may_have_stood_there_always_or_not_come_at_all() -> None:
    garden = draft()
    always, never = garden.add("tanks"), garden.add("tanks")
    garden.put(always, STANDS, ALWAYS)
    garden.put(never, STANDS, NEVER)
    (change,) = garden.changes()
    assert isinstance(change, Put) and change.path == always
    assert "since" not in change.value
