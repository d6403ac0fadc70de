"""Eight programs, two screens and a command line write to one journal at once: every entry is kept, screens follow."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from trusting import Count, soundness, times, type_in

from tankdash.journal.entries import Note, Use
from tankdash.journal.store import Journal
from tankdash.tui import app as screen
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.sideview import SideView

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)
WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tankdash.journal.entries import Use
from tankdash.journal.store import Journal
name, count = sys.argv[1], int(sys.argv[2])
print("ready", flush=True)
sys.stdin.readline()
with Journal.open(Path("tankdash.journal.db"), timeout=120) as journal:
    for number in range(count):
        entry = journal.add(Use(0.5, "tap"), datetime(2026, 6, 9, 12, tzinfo=UTC), f"{name} {number}")
        print(entry.uid, flush=True)
"""
CALLER = """
import os, sys
from tankdash.cli.main import main
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[1])):
    main(["--now", "2026-06-10T12:00Z", "use", "0.5 L", "--outlet", "tap", "--note", f"call {number}", "--json"])
    sys.stdout.flush()
"""
PATIENCE = 120.0
"""Seconds after which a screen that does not follow has failed; never waited in full when it works."""


def child(code: str, *words: str) -> subprocess.Popen[str]:
    """Return a program that stands ready and waits for a line."""
    started = subprocess.Popen(
        [sys.executable, "-c", code, *words],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert started.stdout is not None
    assert started.stdout.readline() == "ready\n"
    return started


async def at_a_screen(
    garden: Path, begin: asyncio.Event, ended: asyncio.Event, expected: list[int], own: int
) -> tuple[Any, str]:
    """Sit at a screen: write some entries, then touch nothing until it shows all; return what it shows."""
    app = TankdashApp(Keeper(garden, None, lambda: NOW), lambda: NOW, theme="dusk", ascii_only=False)
    async with app.run_test(size=(120, 36)) as pilot:
        await begin.wait()
        for number in range(own):
            await pilot.press("n", *f"own {number}", "enter")
            end = time.monotonic() + PATIENCE
            while not isinstance(app.screen, Page):
                assert time.monotonic() < end, "the note was never written"
                await pilot.pause(0.02)
        await ended.wait()
        end = time.monotonic() + PATIENCE
        while app.shown is None or len(app.shown.entries) != expected[0]:
            assert time.monotonic() < end, (expected, app.shown and len(app.shown.entries))
            await pilot.pause(0.05)
        for _ in range(3):
            await pilot.pause()
        assert app._exception is None
        assert app.shown is not None
        return app.shown.levels.as_json()["totals"], app.screen.query_one(SideView).text


async def test_all_write_at_once_and_both_screens_follow(
    garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(screen, "LOOK_EVERY", 0.2)
    assert type_in("--now", "2026-06-08T12:00", "dip", "north", "60cm", "middle", "gap 30cm").code == 0
    each, calls, own = times((6, 4, 2), (60, 40, 20))
    writers = [child(WRITER, f"writer-{n}", str(each)) for n in range(8)]
    caller = child(CALLER, str(calls))
    begin, ended, expected = asyncio.Event(), asyncio.Event(), [0]
    screens = [asyncio.create_task(at_a_screen(garden, begin, ended, expected, own)) for _ in range(2)]
    begin.set()
    loop = asyncio.get_running_loop()
    outs = await asyncio.gather(
        *(
            loop.run_in_executor(None, lambda one=one: one.communicate("\n", timeout=PATIENCE))
            for one in (*writers, caller)
        )
    )
    assert [err for _, err in outs] == [""] * 9
    acknowledged = {line for out, _ in outs[:8] for line in out.split()}
    spoken, told = outs[8][0], []
    decoder = json.JSONDecoder()
    while spoken.strip():
        answer, end = decoder.raw_decode(spoken.lstrip())
        told.append(answer["entry"]["uid"])
        spoken = spoken.lstrip()[end:]
    assert len(told) == calls
    expected[0] = 1 + 8 * each + calls + 2 * own
    ended.set()
    shown = await asyncio.gather(*screens)

    path = garden.with_name("tankdash.journal.db")
    with Journal.open(path) as journal:
        entries = journal.entries(include_voided=True)
    assert len(entries) == expected[0]
    assert {*acknowledged, *told} <= {entry.uid for entry in entries}
    assert sorted(entry.number for entry in entries) == list(range(1, len(entries) + 1))
    assert sum(isinstance(entry.record, Note) for entry in entries) == 2 * own
    for n in range(8):
        numbers = [entry.words for entry in entries if entry.words.startswith(f"writer-{n} ")]
        assert numbers == [f"writer-{n} {number}" for number in range(each)], (
            "each writer's entries in its order"
        )
    assert soundness(path) == "ok"
    # What both screens show is what the journal says.
    assert shown[0] == shown[1]
    levels = type_in("--now", "2026-06-10T12:00Z", "levels", "--json").json
    assert shown[0][0] == levels["totals"]
    assert sum(isinstance(entry.record, Use) for entry in entries) == 8 * each + calls
    count = Count("written at once")
    count("entries", len(entries))
    count("programs", 8)
    count("screens", 2)
    count("commands", calls)
    count.say()
