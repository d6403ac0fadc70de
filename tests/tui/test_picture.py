"""The picture widget: rows of spans become strips, and only what changed is painted again."""

from __future__ import annotations

import pytest
from textual.app import ComposeResult
from textual.strip import Strip

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import text_width
from tankdash.tui.frame import FramedApp
from tankdash.tui.themes import DARK, LIGHT, SIXTEEN, THEMES, draws_ascii, usual_theme
from tankdash.tui.widgets.keybar import Foot, KeyBar
from tankdash.tui.widgets.picture import ROLES, Picture, paragraph


class Counting(Picture):
    """A picture that counts the lines it paints."""

    painted = 0

    def _paint(self, row: Row) -> Strip:
        self.painted += 1
        return super()._paint(row)


class OnePicture(FramedApp):
    """An app that shows one widget."""

    def __init__(self, picture: Picture, theme: str = "dusk") -> None:
        super().__init__(theme=theme)
        self.picture = picture

    def compose(self) -> ComposeResult:
        yield self.picture


def rows(*lines: str) -> list[Row]:
    return [[Span(line, "plain")] for line in lines]


async def test_only_the_lines_that_changed_are_painted_again() -> None:
    picture = Counting(rows("one", "two", "three"))
    async with OnePicture(picture).run_test(size=(40, 10)) as pilot:
        await pilot.pause()
        before = picture.painted
        picture.show(rows("one", "other", "three"))
        await pilot.pause()
        assert picture.render_line(1).text.startswith("other")
        assert picture.painted == before + 1, picture.painted


async def test_a_label_is_neither_markup_nor_escape() -> None:
    picture = Picture([[Span("[bold red]north[/] \x1b[31m\u202eend", "label")]])
    async with OnePicture(picture).run_test(size=(60, 5)) as pilot:
        await pilot.pause()
        shown = picture.render_line(0).text
        assert shown.startswith("[bold red]north[/] ␛[31m�end")


@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
async def test_every_role_has_a_style_in_every_theme(theme: str) -> None:
    picture = Picture([[Span("x", role) for role in ROLES]])
    async with OnePicture(picture, theme).run_test(size=(60, 5)) as pilot:
        await pilot.pause()
        assert len(picture.render_line(0).text.rstrip()) == len(ROLES)
        water = picture.role_style("water")
        plain = picture.role_style("plain")
        assert water != plain


async def test_wide_letters_do_not_push_a_line_out_of_its_width() -> None:
    picture = Picture([[Span("庭" * 40, "label")]])
    async with OnePicture(picture).run_test(size=(30, 5)) as pilot:
        await pilot.pause()
        assert picture.render_line(0).cell_length == 30


def test_dark_and_light_name_the_same_roles() -> None:
    roles = [
        {name for name in theme.variables if name.startswith("role-")} for theme in (DARK, LIGHT, SIXTEEN)
    ]
    assert roles[0] == roles[1] == roles[2]


def _luminance(colour: str) -> float:
    """Return the relative luminance of WCAG 2 (definition, from memory: M)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dusk", "daylight"])
def test_words_stand_out_from_their_ground(theme: object) -> None:
    """Contrast of 4.5 to 1, the usual mark for text (WCAG 2, level AA; M)."""
    assert theme in (DARK, LIGHT)
    known = DARK if theme is DARK else LIGHT
    pairs = [
        ("text", None),
        ("dim", None),
        ("late", None),
        ("done", None),
        ("warn", None),
        ("key", None),
        ("axis", None),
        ("on-water", "water"),
        ("on-below-outlet", "below-outlet"),
        ("on-cut-off", "cut-off"),
        ("title", "notice"),
        ("title", "trouble"),
    ]
    for fore, ground in pairs:
        over = known.variables[f"role-{ground}"] if ground else known.background
        assert over is not None
        light, dark = sorted((_luminance(known.variables[f"role-{fore}"]), _luminance(over)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (fore, ground)


def test_few_colours_and_no_colour_get_the_terminals_own() -> None:
    assert usual_theme({"NO_COLOR": "", "COLORTERM": "truecolor"}) == "sixteen"
    assert usual_theme({"TERM": "xterm"}) == "sixteen"
    assert usual_theme({"TERM": "tmux-256color"}) == "dusk"
    assert draws_ascii({"LC_ALL": "C"})
    assert draws_ascii({"TERM": "linux", "LANG": "pt_PT.UTF-8"}), "its letters have no eighths and no ticks"
    assert not draws_ascii({"TERM": "linux", "TANKDASH_ASCII": "0"})


async def test_a_click_on_a_key_of_the_bar_asks_for_its_action() -> None:
    asked: list[str] = []

    class Listening(OnePicture):
        def on_key_bar_chosen(self, event: KeyBar.Chosen) -> None:
            asked.append(event.run)

    bar = KeyBar([Foot("d", "dip", "app.dip"), Foot("?", "help", "app.help")])
    async with Listening(bar).run_test(size=(40, 5)) as pilot:
        await pilot.pause()
        await pilot.click(KeyBar, offset=(2, 0))
        await pilot.click(KeyBar, offset=(bar.text.index("help"), 0))
        await pilot.click(KeyBar, offset=(38, 0))
        assert asked == ["app.dip", "app.help"]


@pytest.mark.parametrize("width", [80, 60, 40, 24, 12])
def test_the_bar_keeps_whole_names_and_help_to_the_last(width: int) -> None:
    feet = [
        Foot(key, name, "")
        for key, name in zip("drxz?", ["dip", "rain", "tick", "undo", "help"], strict=True)
    ]
    line = "".join(span.text for span in KeyBar(feet).draw(width, 1)[0])
    assert len(line) <= width
    assert line.endswith("? help")


PAGES = [
    Foot(str(number), name, f"app.page('{name}')")
    for number, name in enumerate(["home", "tanks", "rain", "chores"], start=1)
]


@pytest.mark.parametrize(
    ("width", "names"), [(90, "1 home  2 tanks  3 rain  4 chores"), (60, "1-4 pages"), (24, "? help")]
)
def test_the_bar_names_the_pages_as_far_as_there_is_room(width: int, names: str) -> None:
    feet = [
        Foot(key, name, "")
        for key, name in zip("drxz?", ["dip", "rain", "tick", "undo", "help"], strict=True)
    ]
    row = KeyBar(feet, PAGES, here="rain").draw(width, 1)[0]
    line = "".join(span.text for span in row)
    assert len(line) <= width
    assert line.rstrip().endswith(names)
    assert line.startswith(" d dip")
    standing_out = [span.text.strip() for span in row if span.role == "strong"]
    assert standing_out == (["rain"] if "rain" in names else [])


async def test_a_click_on_a_page_of_the_bar_goes_there() -> None:
    asked: list[str] = []

    class Listening(OnePicture):
        def on_key_bar_chosen(self, event: KeyBar.Chosen) -> None:
            asked.append(event.run)

    bar = KeyBar([Foot("d", "dip", "app.dip")], PAGES)
    async with Listening(bar).run_test(size=(60, 5)) as pilot:
        await pilot.pause()
        await pilot.click(KeyBar, offset=(bar.text.index("tanks") + 4, 0))
        await pilot.click(KeyBar, offset=(bar.text.index("tanks") - 4, 0))
        assert asked == ["app.page('tanks')"]
        await pilot.resize_terminal(28, 5)
        await pilot.pause()
        await pilot.click(KeyBar, offset=(bar.text.index("pages"), 0))
        assert asked == ["app.page('tanks')"]


def test_words_wrap_and_lose_nothing_steering() -> None:
    assert [row[0].text for row in paragraph("a\x07b and more words", 10)] == ["a␇b and", "more words"]


def test_words_without_blanks_are_broken_by_cells_and_lose_nothing() -> None:
    said = "庭の水槽の北側の大きなタンク tap 🪣 مزرعة"
    for width in range(8, 60):
        lines = [row[0].text for row in paragraph(said, width, indent=2)]
        assert all(text_width(line) <= width for line in lines)
        assert "".join("".join(lines).split()) == "".join(said.split())
