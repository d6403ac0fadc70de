"""A monkey at the screen: random keys, clicks, resizes and pastes over every page and form.

It is seeded, so what it finds can be found again; `TANKDASH_LONG=1` gives it many thousand steps.
"""

from __future__ import annotations

import random
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input
from trusting import Count, keeps_its_promises, levels_are_sane, soundness, times, type_in

from tankdash.journal.entries import Use
from tankdash.journal.store import Journal
from tankdash.tui import registry
from tankdash.tui.actions import ACTIONS
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.field import Field, TypedField

CONFIGS = Path(__file__).parents[2] / "configs"
ZONE = ZoneInfo("Europe/Lisbon")
KEYS = tuple(key for action in ACTIONS if action.id != "quit" for key in action.keys.split(","))
"""Every key of the program but the one that ends it."""
IN_FORMS = (
    "enter", "enter", "tab", "tab", "down", "up", "shift+tab", "left", "right", "space", "backspace", "delete", "home",
    "end", "ctrl+u", "ctrl+w", "ctrl+k", "f1", "escape", "pageup", "pagedown", "ctrl+a", "shift+left",
)  # fmt: skip
TYPED = (
    "60", "60 cm", "4", "12", "0", "1/2", "9 L", "gap 20", "12 mm", "trace", ">5", "40-60", "-1", "now", "today 7:30",
    "yesterday 18:00", "2026-03-29 01:30", "2025-10-26 01:30", "9999-12-31", "north", "x", "?", "7 cm", "-4 cm", "1e9",
    "½", "3' 4\"", "tomorrow", "99999999999999", "note", " ",
)  # fmt: skip
PASTES = (
    "60 cm",
    "60\n61\n62",
    "word " * 2000,
    "x" * 20_000,
    "\x1b[31mred\x1b[0m\x1b]52;c;QQ==\x07",
    "\x00\x01\x7f\x9b31m",
    "[red]x[/red][/][@click=app.quit]y[/]",
    "\u202e\u05d0\u05d1\u05d2 \u0645\u0627\u0621\u202c",
    "桶🪣桶" * 30,
    "e" + "\u0301" * 300,
    "a\u200b\ufeff\u2060b",
    "\ud800",
    "\t\t\r\n",
    "",
)
SIZES = (
    (80, 24), (120, 36), (60, 18), (40, 12), (59, 17), (1, 1), (2, 40), (200, 3), (500, 200), (10, 10), (80, 1),
    (1, 60), (33, 100),
)  # fmt: skip


class NeverLeaves(TankdashApp):
    """The app without its door: a monkey that leaves sees nothing more."""

    async def action_quit(self) -> None:
        """Stay."""


class ScreenMonkey:
    """Does one thing after another at a screen, and looks at it."""

    def __init__(self, seed: str, app: TankdashApp, journal: Path) -> None:
        self.dice = random.Random(seed)
        self.app = app
        self.journal = journal
        self.count = Count(f"at the screen, {seed}")
        self.pages = Count("pages and forms seen")
        self.now = datetime(2026, 6, 10, 12, tzinfo=ZONE)
        self.done: list[str] = []
        """The latest doings, to be told when something breaks."""
        self.ways: tuple[tuple[int, Callable[[Pilot[int]], Awaitable[str]]], ...] = (
            (30, self.press),
            (16, self.type),
            (14, self.visit),
            (8, self.click),
            (5, self.paste),
            (5, self.resize),
            (3, self.scroll),
            (2, self.wait),
            (2, self.elsewhere),
            (1, self.spoil),
        )

    async def step(self, pilot: Pilot[int]) -> None:
        """Do one thing."""
        weights, ways = zip(*self.ways, strict=True)
        way = self.dice.choices(ways, weights)[0]
        what = await way(pilot)
        self.count(way.__name__)
        self.done = [*self.done[-11:], what]
        self.pages(type(self.app.screen).__name__)

    async def press(self, pilot: Pilot[int]) -> str:
        in_form = not isinstance(self.app.screen, Page)
        keys = [
            self.dice.choice(IN_FORMS if in_form and self.dice.random() < 0.8 else KEYS) for _ in range(3)
        ]
        await pilot.press(*keys)
        return f"press {keys}"

    async def visit(self, pilot: Pilot[int]) -> str:
        """Go to a page or open a form by its action, as the palette and the footer do."""
        form = self.dice.choice((*registry.FORMS, None, None))
        run = f"form('{form}')" if form else f"page('{self.dice.choice([*registry.PAGES][:-1])}')"
        for _ in range(3):
            if not isinstance(self.app.screen, Page):
                await pilot.press("escape")
        if isinstance(self.app.screen, Page):
            await self.app.run_action(f"app.{run}")
            await pilot.pause()
        return run

    async def type(self, pilot: Pilot[int]) -> str:
        text = self.dice.choice(TYPED)
        await pilot.press(*text, *self.dice.choice(((), ("enter",), ("tab",), ("tab",))))
        return f"type {text!r}"

    async def paste(self, pilot: Pilot[int]) -> str:
        text = self.dice.choice(PASTES)
        target = self.app.screen.focused if isinstance(self.app.screen.focused, Input) else self.app
        target.post_message(events.Paste(text))
        await pilot.pause()
        return f"paste {text[:20]!r}"

    async def click(self, pilot: Pilot[int]) -> str:
        width, height = self.app.size
        place = self.dice.randrange(max(1, width)), self.dice.randrange(max(1, height))
        await pilot.click(offset=place, times=self.dice.choice((1, 1, 2)))
        return f"click {place}"

    async def scroll(self, pilot: Pilot[int]) -> str:
        width, height = self.app.size
        x, y = self.dice.randrange(max(1, width)), self.dice.randrange(max(1, height))
        kind = self.dice.choice((events.MouseScrollDown, events.MouseScrollUp))
        self.app.post_message(kind(None, x, y, 0, 0, 0, False, False, False, x, y))
        await pilot.pause()
        return f"scroll {x} {y}"

    async def resize(self, pilot: Pilot[int]) -> str:
        size = self.dice.choice(SIZES) if self.dice.random() < 0.6 else (80, 24)
        await pilot.resize_terminal(*size)
        return f"resize {size}"

    async def wait(self, pilot: Pilot[int]) -> str:
        """Let time go by: minutes, a night, or back again."""
        self.now += self.dice.choice((timedelta(minutes=5), timedelta(hours=9), timedelta(days=-1)))
        self.app.look()
        await pilot.pause()
        return f"wait until {self.now}"

    async def elsewhere(self, pilot: Pilot[int]) -> str:
        """Somebody else writes to the journal, or takes something back."""
        with Journal.open(self.journal) as journal:
            if self.dice.random() < 0.7:
                journal.add(Use(1.0, "tap"), self.now, "use 1 L elsewhere", self.dice.choice(PASTES)[:200])
            else:
                journal.undo(self.now)
        self.app.look()
        await pilot.pause()
        return "elsewhere"

    async def spoil(self, pilot: Pilot[int]) -> str:
        """Somebody edits the site file badly, and puts it right again."""
        path = self.journal.with_name("tankdash.yaml")
        good = path.read_bytes()
        path.write_bytes(self.dice.choice((b"", b"tanks: [", good[: len(good) // 2], b"\xff" + good)))
        self.app.look(again=True)
        await pilot.pause()
        await self.app.workers.wait_for_complete()
        path.write_bytes(good)
        self.app.look(again=True)
        await pilot.pause()
        return "spoil"

    def look(self) -> None:
        """Hold the screen to what it may send to a terminal."""
        for line in painted(self.app):
            assert line.isprintable(), repr(line)


def painted(app: TankdashApp) -> list[str]:
    """Return the lines of the screen as they go to the terminal, without their colours."""
    screen = app.screen
    return ["".join(segment.text for segment in strip) for strip in screen._compositor.render_strips()]


async def settle(app: TankdashApp, pilot: Pilot[int]) -> None:
    for _ in range(2):
        await app.workers.wait_for_complete()
        await pilot.pause()


@pytest.mark.parametrize(
    "name", times(["trusted", "three-totes"], ["trusted", "three-totes", "terraces", "pumped-bank"])
)
async def test_a_monkey_at_the_screen(name: str, garden: Path) -> None:
    if name != "trusted":
        garden.write_bytes((CONFIGS / f"{name}.yaml").read_bytes())
    first = next(iter(type_in("--now", "2026-06-09T12:00", "levels", "--json").json["tanks"]))
    for words in (("dip", first, "30cm"), ("rain", "12mm"), ("note", "[red]x[/red] \x1b[31m \u202eabc")):
        assert type_in("--now", "2026-06-09T12:00", *words).code == 0
    journal = garden.with_name("tankdash.journal.db")
    monkey: ScreenMonkey
    clock = lambda: monkey.now  # noqa: E731
    ascii_only = name == "three-totes"
    # The clock is asked as soon as there is a keeper.
    monkey = ScreenMonkey.__new__(ScreenMonkey)
    monkey.now = datetime(2026, 6, 10, 12, tzinfo=ZONE)
    app = NeverLeaves(Keeper(garden, None, clock), clock, ascii_only=ascii_only)
    monkey.__init__(name, app, journal)  # type: ignore[misc]
    newest = 0
    steps = times(90, 5000)
    async with app.run_test(size=(80, 24)) as pilot:
        for step in range(steps):
            try:
                await monkey.step(pilot)
                monkey.look()
            except BaseException as broken:
                raise AssertionError(f"step {step}: {monkey.done}: {broken!r}") from broken
            assert app._exception is None, (step, monkey.done, app._exception)
            if step % 50 == 49:
                await settle(app, pilot)
                with Journal.open(journal) as kept:
                    assert kept.stamp() >= newest, "entries are only added"
                    newest = kept.stamp()
        # The screen still does what it is for.
        await pilot.resize_terminal(80, 24)
        while not isinstance(app.screen, Page):
            await pilot.press("escape")
        await settle(app, pilot)
        with Journal.open(journal) as kept:
            stamp, standing = kept.stamp(), len(kept.entries())
        await pilot.press("z")
        await settle(app, pilot)
        with Journal.open(journal) as kept:
            assert kept.stamp() == stamp + 1
            assert len(kept.entries()) == standing - 1
        assert app.shown is not None
        assert len(app.shown.entries) == standing - 1
    monkey.count("entries", newest)
    monkey.count.say()
    monkey.pages.say()
    assert soundness(journal) == "ok"
    answer = type_in("--now", monkey.now.isoformat(), "levels", "--json")
    keeps_its_promises(answer)
    levels_are_sane(answer.json)
    assert newest > times(3, 200)
    assert len(monkey.pages.of) >= times(8, 18), monkey.pages.of


@pytest.mark.parametrize("name", registry.FORMS)
async def test_a_form_asked_before_it_is_laid_out_keeps_what_was_typed_earlier(
    garden: Path, name: str
) -> None:
    """A quick hand opens a form and leaves it in one breath."""
    now = datetime(2026, 6, 10, 12, tzinfo=ZONE)
    app = NeverLeaves(Keeper(garden, None, lambda: now), lambda: now, theme="dusk", ascii_only=False)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(app, pilot)
        assert app.keeper is not None and app.shown is not None
        form = registry.form_class(name)(app.keeper, app.shown, {"note": "71"})
        assert form.typed() == {"note": "71"}
        assert form.values == {}
        form.trouble("The disk is full.")
        field = TypedField(Field("depth", "Depth", "such as 60 cm", unit="cm"), "71\x1b[31m")
        assert field.typed == "71␛[31m"
        field.complain("Too deep.")
        field.complain(None)


async def test_what_is_pasted_is_one_line_of_plain_text_in_every_line_typed_into(garden: Path) -> None:
    """In a form, and in the palette, too; no part of several lines is dropped."""
    now = datetime(2026, 6, 10, 12, tzinfo=ZONE)
    app = NeverLeaves(Keeper(garden, None, lambda: now), lambda: now, theme="dusk", ascii_only=False)
    async with app.run_test(size=(100, 30)) as pilot:
        for key in ("n", "colon"):
            await pilot.press(key)
            await settle(app, pilot)
            app.post_message(events.Paste("one\ntwo\x1b[31m\u202e"))
            await settle(app, pilot)
            line = app.screen.focused
            assert isinstance(line, Input)
            assert line.value == "one two␛[31m\N{REPLACEMENT CHARACTER}"
            await pilot.press("escape")
            await settle(app, pilot)
