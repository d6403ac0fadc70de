"""Text from files on the screen: shown on every page and form as text, in its cells, and nothing of it steers."""

from __future__ import annotations

import os
import pty
import re
import select
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.cells import cell_len
from test_screen_monkey import painted, settle
from test_text_from_files import NASTY, STEERING, labelled
from trusting import Count, times, type_in

from tankdash.tui import registry
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)


@pytest.fixture
def nasty(garden: Path) -> Path:
    """Return a garden whose labels, notes, gauges and words hold all that may be held."""
    garden.write_text(labelled([NASTY[kind] for kind in NASTY if kind not in STEERING]), encoding="utf-8")
    assert (
        type_in("--now", "2026-06-09T12:00", "dip", "north", "60cm", "--note", "".join(NASTY.values())).code
        == 0
    )
    for number, text in enumerate(NASTY.values()):
        at = ("--now", f"2026-06-09T13:{number:02}")
        assert type_in(*at, "note", text).code == 0
        assert type_in(*at, "rain", "0 mm", "--gauge", f"{text} {number}").code == 0
    assert (
        type_in("--now", "2026-06-09T14:00", "pour", "3L", "late", "--what", "".join(NASTY.values())).code
        == 0
    )
    return garden


@pytest.mark.parametrize("size", times([(80, 24)], [(80, 24), (120, 36), (60, 18), (40, 12)]))
async def test_every_page_and_form_shows_it_as_text_in_its_cells(nasty: Path, size: tuple[int, int]) -> None:
    app = TankdashApp(Keeper(nasty, None, lambda: NOW), lambda: NOW, theme="dusk", ascii_only=False)
    count = Count("screens with nasty text")
    seen: list[str] = []
    async with app.run_test(size=size) as pilot:
        await settle(app, pilot)
        runs = [f"app.page('{name}')" for name in registry.PAGES if name != "welcome"]
        runs += [f"app.form('{name}')" for name in registry.FORMS]
        for run in runs:
            await app.run_action(run)
            await settle(app, pilot)
            for key in times((None, "j"), (None, "j", "j", "tab")):
                if key is not None:
                    await pilot.press(key)
                lines = painted(app)
                for line in lines:
                    assert line.isprintable(), (run, line)
                    assert cell_len(line) == size[0], (run, line)
                seen += lines
                count("screens")
            for _ in range(3):
                if not isinstance(app.screen, Page):
                    await pilot.press("escape")
        # What was noted comes back into a field when it is corrected, and is harmless there, too.
        await app.run_action("app.page('log')")
        await settle(app, pilot)
        for _ in range(times(16, 40)):
            await pilot.press("j", "j")
            seen += painted(app)
        for _ in range(times(2, 40)):
            await pilot.press("e")
            await settle(app, pilot)
            assert all(line.isprintable() for line in painted(app))
            count("corrections")
            await pilot.press("escape", "7", "j")
            await settle(app, pilot)
        assert app._exception is None
    everything = "\n".join(seen)
    assert "[red]x[/red]" in everything, "markup is shown, not taken"
    assert "␛[31m" in everything, "a control character is shown as such"
    assert "桶" in everything
    count.say()


CODE = """
import sys
from datetime import datetime
from pathlib import Path
from tankdash.tui.app import run_screen
sys.exit(run_screen(Path(sys.argv[1]), None, datetime.fromisoformat(sys.argv[2])))
"""


def test_a_real_terminal_is_sent_no_sequence_from_a_file(nasty: Path) -> None:
    """Its bytes hold the words, and none of the sequences that stood around them."""
    pid, handle = pty.fork()
    if pid == 0:
        os.environ.update({"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"})
        os.execv(sys.executable, [sys.executable, "-c", CODE, str(nasty), NOW.isoformat()])
    sent = b""
    keys = iter((b"7", b"jjjjjj", b"4", b"1", b"q"))
    wanted = b"usable"
    end = time.monotonic() + 120.0
    plain = b""
    while time.monotonic() < end:
        if not select.select([handle], [], [], 0.3)[0]:
            # Nothing more comes: what was asked for is there, and the next key can be pressed.
            if wanted in plain:
                os.write(handle, next(keys, b"q"))
            continue
        try:
            more = os.read(handle, 65536)
        except OSError:
            break
        if not more:
            break
        sent += more
        plain = re.sub(rb"\x1b[\[\]?][0-9;?<>=$]*[a-zA-Z]", b"", sent)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0, plain[-2000:]
    os.close(handle)
    assert "桶".encode() in sent
    for steering in (
        b"\x1b]52",
        b"\x1b]8;",
        b"\x1b]0;title",
        b"\x1b[31mred",
        b"\xc2\x9b",
        b"\xc2\x9d",
    ):
        at = sent.find(steering)
        assert at < 0, (steering, sent[max(0, at - 60) : at + 60])
    for sign in ("\u202e", "\u2066", "\u200b", "\ufeff", "\u061c"):
        assert sign.encode() not in sent, repr(sign)
