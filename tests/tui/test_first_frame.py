"""The first frame shows the tanks, as kept from the last start or worked out anew; the two never differ."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from plots import NOW, Garden, keys, settle
from textual.events import Key

from tankdash import kept
from tankdash.cli.main import main
from tankdash.glance import kept_glance
from tankdash.journal.entries import TapOpened
from tankdash.journal.place import default_journal_path
from tankdash.journal.store import Journal, JournalError
from tankdash.tui.app import TankdashApp
from tankdash.tui.forms.dip import DipForm
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.home import HomePage
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.notice import NoticeLine

SIZE = (120, 36)


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a cache folder of the test's own."""
    folder = tmp_path / "cache"
    monkeypatch.setenv("TANKDASH_CACHE", str(folder))
    return folder


class Still(TankdashApp):
    """An app that goes no further than its first frame."""

    def look(self, *, again: bool = False) -> None:
        """Read nothing."""


def keeper_of(garden: Garden, now: datetime | None = None) -> Keeper:
    return Keeper(garden.path, None, lambda: now or garden.now, opens=False)


def kept_at(garden: Garden, now: datetime | None = None) -> bool:
    """Return whether the tanks are known without opening a file."""
    return kept_glance(garden.path, default_journal_path(garden.path), now or garden.now) is not None


def screen_text(app: TankdashApp) -> str:
    return "\n".join(strip.text.rstrip() for strip in app.screen._compositor.render_strips())


async def first_frame(garden: Garden, now: datetime | None = None) -> str:
    """Return what a start shows before chores and timeline are worked out."""
    keeper = keeper_of(garden, now)
    app = Still(keeper, keeper.clock, glance=keeper.glance(), theme="dusk", ascii_only=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        text = screen_text(app)
    keeper.close()
    return text


async def whole_start(garden: Garden) -> str:
    """Start as the program does, until all is worked out; leave the app and return what it showed."""
    keeper = keeper_of(garden)
    app = TankdashApp(keeper, keeper.clock, glance=keeper.glance(), theme="dusk", ascii_only=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        text = screen_text(app)
    keeper.close()
    return text


async def at_once(garden: Garden) -> str:
    """Return what is shown when everything is worked out before the first frame."""
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        return screen_text(app)


async def test_kept_tanks_look_like_those_worked_out(garden: Garden) -> None:
    cold = await first_frame(garden)
    assert "usable" in cold and "North tote" in cold
    assert not kept_at(garden)
    await whole_start(garden)
    assert kept_at(garden)
    assert await first_frame(garden) == cold


async def test_what_follows_the_first_frame_is_all_there_is(garden: Garden) -> None:
    everything = await at_once(garden)
    assert await whole_start(garden) == everything
    assert kept_at(garden)
    assert await whole_start(garden) == everything


async def test_the_first_frame_says_nothing_of_what_it_does_not_know(garden: Garden) -> None:
    text = await first_frame(garden)
    assert "reading the journal ..." in text
    assert "\n" in text.partition("Chores")[2].partition("...")[0]
    for wrong in ("Nothing is due", "names no chores", "No ", "0 due"):
        assert wrong not in text


def wet_again(garden: Garden) -> None:
    garden.rain("3 mm", "tuesday 7:00")


def dipped_again(garden: Garden) -> None:
    garden.dip("tuesday 8:00", south="31 cm")


def taken_back(garden: Garden) -> None:
    with garden.desk() as desk:
        desk.undo(garden.now)


def set_right(garden: Garden) -> None:
    text = garden.path.read_text(encoding="utf-8")
    garden.path.write_text(text.replace("base: 23 cm", "base: 29 cm"), encoding="utf-8")


def given_another_journal(garden: Garden) -> None:
    """Put a journal in place that is as long, as new and as large as the one before it."""
    place = default_journal_path(garden.path)
    status = place.stat()
    other = Garden(garden.path.with_name("other.yaml"))
    shutil.copy(garden.path, other.path)
    other.dip("sunday 18:00", north="40 cm")
    other.rain("12 mm", "monday 7:00")
    shutil.copy(default_journal_path(other.path), place)
    os.utime(place, ns=(status.st_atime_ns, status.st_mtime_ns))
    assert place.stat().st_size == status.st_size


@pytest.mark.parametrize("change", [wet_again, dipped_again, taken_back, set_right, given_another_journal])
async def test_what_changed_under_the_kept_tanks_is_in_the_first_frame(
    garden: Garden, change: Callable[[Garden], None]
) -> None:
    await whole_start(garden)
    before = await first_frame(garden)
    change(garden)
    assert not kept_at(garden)
    after = await first_frame(garden)
    assert after != before
    kept_anew = await whole_start(garden)
    assert kept_anew == await at_once(garden)
    assert await first_frame(garden) == after


@pytest.mark.parametrize(
    "typed",
    [
        "rain 3mm --at 'tuesday 7:00'",
        "dip north 50cm south 44cm",
        "use 10L --outlet tap",
        "done wipe-screen",
        "undo",
        "note dry",
    ],
)
async def test_a_command_that_writes_keeps_the_tanks_for_the_screen(garden: Garden, typed: str) -> None:
    await whole_start(garden)
    now = garden.now + timedelta(minutes=5)
    assert main([*shlex.split(typed), "--site", str(garden.path), "--now", now.isoformat()]) == 0
    assert kept_at(garden, now)
    from_kept = await first_frame(garden, now)
    shutil.rmtree(os.environ["TANKDASH_CACHE"])
    assert not kept_at(garden, now)
    assert await first_frame(garden, now) == from_kept


async def test_a_command_keeps_no_tanks_that_somebody_changed_meanwhile(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    fingerprint = Journal.fingerprint

    def late(journal: Journal) -> bytes | None:
        garden.dip("tuesday 8:00", south="31 cm")
        return fingerprint(journal)

    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(Journal, "fingerprint", late)
        assert main(["note", "dry", "--site", str(garden.path), "--now", garden.now.isoformat()]) == 0
    assert not kept_at(garden)
    assert main(["note", "wet", "--site", str(garden.path), "--now", garden.now.isoformat()]) == 0
    assert kept_at(garden)


async def test_a_broken_site_file_is_not_hidden_by_kept_tanks(garden: Garden) -> None:
    await whole_start(garden)
    garden.path.write_text(garden.path.read_text(encoding="utf-8") + "\ntankz: {}\n", encoding="utf-8")
    with pytest.raises(Exception, match="tankz"):
        keeper_of(garden).glance()


async def test_a_broken_journal_is_not_hidden_by_kept_tanks(garden: Garden) -> None:
    await whole_start(garden)
    place = default_journal_path(garden.path)
    place.write_bytes(place.read_bytes()[:3000])
    with pytest.raises(JournalError):
        keeper_of(garden).glance()


async def test_kept_tanks_are_for_their_time_only(garden: Garden) -> None:
    await whole_start(garden)
    assert kept_at(garden, garden.now + timedelta(days=30))
    assert not kept_at(garden, garden.now - timedelta(seconds=1))
    with garden.desk() as desk:
        desk.record(TapOpened("tap"), garden.now, "tap open tap", now=garden.now)
    await whole_start(garden)
    assert not kept_at(garden)


@pytest.mark.parametrize("harm", ["cut short", "foreign", "older version", "not writable", "turned off"])
async def test_the_first_frame_is_the_same_whatever_became_of_what_was_kept(
    garden: Garden, cache: Path, harm: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    cold = await first_frame(garden)
    await whole_start(garden)
    assert kept_at(garden)
    for file in cache.glob("*.kept"):
        if harm == "cut short":
            file.write_bytes(file.read_bytes()[:-9])
        elif harm == "foreign":
            file.chmod(0o666)
    if harm == "older version":
        monkeypatch.setattr(kept, "_program", lambda: b"another")
    elif harm == "not writable":
        shutil.rmtree(cache)
        cache.write_text("no folder")
    elif harm == "turned off":
        monkeypatch.setenv("TANKDASH_CACHE", "")
    assert not kept_at(garden)
    assert await first_frame(garden) == cold
    assert await whole_start(garden) == await at_once(garden)


async def test_keys_pressed_before_everything_is_read_are_taken_up_then(garden: Garden) -> None:
    keeper = keeper_of(garden)
    may_go_on = threading.Event()
    ready = keeper.shown

    def slowly(*words: object) -> object:
        may_go_on.wait(30)
        return ready()

    keeper.shown = slowly  # type: ignore[method-assign, assignment]
    app = TankdashApp(keeper, keeper.clock, glance=keeper.glance(), theme="dusk")
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        app.post_message(Key("d", "d"))
        await pilot.pause()
        assert isinstance(app.screen, HomePage)
        assert app.shown is None
        may_go_on.set()
        await settle(pilot)
        assert isinstance(app.screen, DipForm)
    keeper.close()


async def test_a_journal_that_breaks_after_the_first_frame_is_told(garden: Garden) -> None:
    await whole_start(garden)
    keeper = keeper_of(garden)
    glance = keeper.glance()
    place = default_journal_path(garden.path)
    whole = place.read_bytes()
    place.write_bytes(b"no journal at all")
    app = TankdashApp(keeper, keeper.clock, glance=glance, theme="dusk")
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        notice = app.screen.query_one(NoticeLine).notice
        assert notice is not None and notice.is_trouble and "journal" in notice.words
        place.write_bytes(whole)
        app.look()
        await settle(pilot)
        assert app.shown is not None
        assert app.screen.query_one(ChoreList).listed
        await keys(pilot, "4")
    keeper.close()


WARM = """
import json, sys
from datetime import datetime
from pathlib import Path
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper

class Still(TankdashApp):
    def look(self, *, again=False):
        sys.__stdout__.write(json.dumps(sorted(sys.modules)))
        self.exit()

now = datetime.fromisoformat(sys.argv[2])
keeper = Keeper(Path(sys.argv[1]), None, lambda: now, opens=False)
Still(keeper, keeper.clock, glance=keeper.glance()).run(headless=True)
"""
NOT_FOR_THE_FIRST_FRAME = (
    "numpy", "scipy", "pandas", "pydantic", "ruamel", "icalendar", "dateutil", "sqlite3", "argparse",
    "tankdash.journal.store", "tankdash.keeping.desk", "tankdash.site.model", "tankdash.water", "tankdash.planning",
    "tankdash.cli.families", "tankdash.tui.forms.base",
)  # fmt: skip


async def test_an_unchanged_garden_needs_nothing_heavy_for_its_first_frame(garden: Garden) -> None:
    await whole_start(garden)
    words = [sys.executable, "-c", WARM, str(garden.path), NOW.isoformat()]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    loaded = set(json.loads(done.stdout))
    assert "tankdash.tui.pages.home" in loaded
    assert sorted(loaded.intersection(NOT_FOR_THE_FIRST_FRAME)) == []
