"""Pages to print: one file, nothing fetched, and no word from a file taken for markup."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html.parser import HTMLParser

from tankdash.keeping.chores.due import chores_at
from tankdash.planning.paper import StickSheet, chore_page, stick_page
from tankdash.planning.stick import stick_table
from tankdash.site import load_text

TEXT = """
site: "<b>Bad</b> & yard"
timezone: UTC
units: metric
datum: "the <i>mark</i>"
tanks:
  north: {label: "North <script>alert(1)</script>", base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
outlets: {tap: {tank: north, at: 10 cm}}
chores:
  sludge: {label: "Look for <u>sludge</u>", every: 2 years, starting: 2020-03-01}
  wipe: {label: Wipe the screen, every: 2 weeks, season: 1 November to 30 November}
"""
SITE = load_text(TEXT)
NOW = datetime(2026, 6, 10, 12, 0, tzinfo=UTC)


class Reader(HTMLParser):
    """Notes tags, and complains of one that is closed out of turn."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.text = ""
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        self.links += [value for name, value in attrs if name in ("href", "src")]
        if tag not in ("meta", "col"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def sheet() -> StickSheet:
    layout = SITE.layout(date(2026, 6, 10))
    rows = stick_table(layout, "north", SITE.tanks["north"].dip, 0.1)
    return StickSheet(SITE, "north", tuple(rows), date(2026, 6, 10), layout)


def test_the_stick_page_holds_every_line_and_no_foreign_tag():
    page = stick_page(sheet())
    found = read(page)
    assert not {"script", "b", "i", "u", "img", "link"} & set(found.seen)
    assert found.links == []
    assert "North <script>alert(1)</script>" in found.text
    assert found.seen.count("tr") == 2 + 11
    assert "http" not in page.replace("http-equiv", "")
    assert "never for drinking" in page
    assert "@media print" in page


def test_the_table_says_how_it_is_read_and_what_it_holds_for():
    found = sheet()
    assert found.how_read == "Stand the stick on the floor and read how far it is wet."
    assert found.slope_words == "1 cm on the stick is about 10 L over most of the table."
    assert "north 20 cm" in found.base_words
    assert found.as_json()["litres_per_cm"] == 10.0


def test_the_chore_sheet_has_a_box_for_each_open_chore():
    states = chores_at(SITE, [], NOW, None)
    page = chore_page(SITE, states, NOW)
    found = read(page)
    assert sum(state.is_open for state in states) == 1
    assert page.count('<span class="box">') == 1
    assert "u" not in found.seen
    assert "Look for <u>sludge</u>" in found.text
    assert "Wipe the screen" in found.text.split("To do")[1].split("Later")[1]


def test_a_sheet_without_chores_still_has_lines_to_write_on():
    found = read(chore_page(SITE, [], NOW))
    assert "To do" not in found.text
    assert found.seen.count("tr") == 7


def test_names_written_from_right_to_left_turn_nothing_round():
    """A name stands by itself in its sentence, and a chore in its cell takes its own direction."""
    site = load_text(
        TEXT.replace("<b>Bad</b> & yard", "חצר המים").replace("Look for <u>sludge</u>", "לרוקן 12 mm")
    )
    layout = site.layout(date(2026, 6, 10))
    page = stick_page(StickSheet(site, "north", (), date(2026, 6, 10), layout))
    assert "<bdi>חצר המים</bdi>" in page
    chores = chore_page(site, chores_at(site, [], NOW, None), NOW)
    assert '<td class="label" dir="auto">לרוקן 12 mm</td>' in chores


def test_the_stronger_rule_stands_under_every_fifth_step_and_not_under_a_fifth_line_somewhere():
    layout = SITE.layout(date(2026, 6, 10))
    rows = stick_table(layout, "north", SITE.tanks["north"].dip, 0.02)
    page = stick_page(StickSheet(SITE, "north", tuple(rows), date(2026, 6, 10), layout))
    strong = re.findall(r'<tr class="strong"><td class="figure reading">([^<]*)</td>', page)
    assert strong == [f"{reading} cm" for reading in range(0, 101, 10)]


def test_the_unit_stands_over_the_column_and_wide_lines_get_two_columns_instead_of_three():
    """Gallons with their name in every cell ran over the next column of the printed page."""
    gallons = load_text(TEXT.replace("units: metric", "units: us").replace("1000 L", "275 US gal"))
    layout = gallons.layout(date(2026, 6, 10))
    rows = stick_table(layout, "north", gallons.tanks["north"].dip, 0.0127)
    page = stick_page(StickSheet(gallons, "north", tuple(rows), date(2026, 6, 10), layout))
    assert page.count("US gal") == 2 + 1  # over two columns, and in the sentence on what an inch is worth
    assert 'class="columns three"' in page
    wide = load_text(TEXT.replace("1000 L", "100000000 L"))
    layout = wide.layout(date(2026, 6, 10))
    rows = stick_table(layout, "north", wide.tanks["north"].dip, 0.1)
    assert 'class="columns"' in stick_page(StickSheet(wide, "north", tuple(rows), date(2026, 6, 10), layout))


def test_what_a_page_needs_on_paper_is_in_its_style():
    style = stick_page(sheet()).partition("<style>")[2].partition("</style>")[0]
    for rule in ("display: table-header-group", "break-inside: avoid", "color: #000", "background: #fff"):
        assert rule in style
    assert "url(" not in style
    assert "@import" not in style
