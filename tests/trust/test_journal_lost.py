"""The journal goes bad under an open screen: it says so, goes on, and works again when the journal is back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual.pilot import Pilot
from trusting import Count, soundness, times, type_in

from tankdash.journal.store import Journal
from tankdash.tui import registry
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)


def noise(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[:100] + b"\xa5" * (len(content) - 100))


def empty(path: Path) -> None:
    path.write_bytes(b"")


def gone(path: Path) -> None:
    path.unlink()


async def settle(app: TankdashApp, pilot: Pilot[int]) -> None:
    """Wait until what was begun has ended, well or badly."""
    for _ in range(3):
        await pilot.pause()
        for worker in list(app.workers):
            while not worker.is_finished:
                await pilot.pause(0.01)


@pytest.mark.parametrize("spoil", [noise, empty, gone])
async def test_a_journal_that_goes_bad_under_an_open_screen_ends_no_program(
    spoil: Callable[[Path], None], garden: Path
) -> None:
    path = garden.with_name("tankdash.journal.db")
    for words in (("dip", "north", "60cm"), ("rain", "12mm"), ("use", "9L", "--outlet", "tap")):
        assert type_in("--now", "2026-06-09T12:00", *words).code == 0
    assert soundness(path) == "ok"
    good = path.read_bytes()
    app = TankdashApp(Keeper(garden, None, lambda: NOW), lambda: NOW, theme="dusk", ascii_only=False)
    count = Count(f"asked of a journal that is {spoil.__name__}")
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(app, pilot)
        # The connection is given up as after a night's sleep of the machine, so that the file is opened anew.
        assert app.keeper is not None
        app.keeper.close()
        for rest in path.parent.glob(path.name + "-*"):
            rest.unlink()
        spoil(path)
        is_whole = spoil is noise or times(False, True)
        pages = [name for name in registry.PAGES if name != "welcome"]
        for name in pages if is_whole else pages[:3]:
            await app.run_action(f"app.page('{name}')")
            await settle(app, pilot)
            count("pages")
        await pilot.press("1")
        for name in [*registry.FORMS][: None if is_whole else 2]:
            await app.run_action(f"app.form('{name}')")
            await settle(app, pilot)
            await pilot.press("6", "0", "enter")
            await settle(app, pilot)
            for _ in range(3):
                if not isinstance(app.screen, Page):
                    await pilot.press("escape")
            assert isinstance(app.screen, Page), name
            count("forms")
        for key in ("z", "x", "g", "7", "e", "backspace", "1"):
            await pilot.press(key)
            await settle(app, pilot)
            count("keys")
        assert app._exception is None
        # The journal is put back, and everything is as it was.
        app.keeper.close()
        for rest in path.parent.glob(path.name + "*"):
            rest.unlink()
        path.write_bytes(good)
        await pilot.press("g")
        await settle(app, pilot)
        with Journal.open(path) as journal:
            before = journal.stamp()
        await pilot.press("n", *"back", "enter")
        await settle(app, pilot)
        with Journal.open(path) as journal:
            assert journal.stamp() == before + 1
    count.say()
