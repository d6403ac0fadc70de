"""What the garden is built for: storm, load, reach, storage, and the stick table; one part on the screen at a time."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Container
from textual.message import Message
from textual.worker import get_current_worker

from tankdash.drawing.canvas import Row
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.words import label
from tankdash.planning.choices import NoRecord, Sizing, lasting_layout, sizing
from tankdash.planning.loading import Loads, loads_of
from tankdash.planning.outlook import Outlook, counted_contents, outlook
from tankdash.planning.paper import StickSheet, stick_page, stick_sheet
from tankdash.planning.past import NO_PAST_RAIN, PastRain, choose, past_rains
from tankdash.planning.sizing import Cancelled, Rule
from tankdash.planning.stick import reading_of
from tankdash.planning.storm_words import first_spill_words, rate_words
from tankdash.planning.storms import StormReport, storm_report
from tankdash.site.model import Site
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.designparts import (
    load_rows,
    reach_rows,
    reach_state,
    size_rows,
    stick_rows,
    storm_rows,
)
from tankdash.tui.pages.designwishes import PARTS, Wishes, usual_wishes
from tankdash.tui.pages.page import PrintedPage
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.widgets.partbar import Part, PartBar
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.widgets.sheet import Sheet
from tankdash.units import format_area, format_bearing, format_length, format_mass
from tankdash.water.model import Layout

TOLD_EVERY = 0.1
"""Seconds between two words on how far a run is."""


@dataclass(frozen=True)
class DesignAnswer:
    """What the desk said for every part but the sizes, which take longer."""

    outlook: Outlook
    """Head and reach."""
    loads: Loads
    storm: StormReport
    sheet: StickSheet | None
    """None in a garden without tanks, or where the step is too small for its tank."""
    record: PastRain | None
    """Daily rain for the sizes; None when none was brought in."""
    lasting: Layout
    """The garden as it stands for years."""

    @property
    def roof(self) -> float:
        """Present roof, [m2]."""
        return sum(roof.area for roof in self.lasting.roofs.values())


@dataclass(frozen=True)
class SizeQuestion:
    """What is asked about storage."""

    roof: float | None
    """Another plan area beside the present one, [m2]."""
    rule: Rule


class DesignPage(SheetPage[DesignAnswer]):
    """Five parts of one page; left and right choose, plus and minus change what a part is asked."""

    HEADING = "Design"

    class SizesGoOn(Message):
        """A run through the years is so far."""

        def __init__(self, share: float) -> None:
            super().__init__()
            self.share = share
            """0 to 1."""

    class SizesEnded(Message):
        """A run through the years is over."""

        def __init__(self, question: SizeQuestion, answer: Sizing | str | None) -> None:
            super().__init__()
            self.question = question
            """What was asked."""
            self.answer = answer
            """The sizes; a sentence why there are none; None when it was stopped."""

    def __init__(self) -> None:
        super().__init__()
        self.wishes: Wishes | None = None
        """What is asked; the usual until the garden is known."""
        self.run_share: float | None = None
        """How far the run through the years is; None when nothing runs."""
        self.sizes: dict[SizeQuestion, Sizing | str | None] = {}
        """Answers about storage for the present garden and record."""
        self._sized_for: tuple[Layout, Site, PastRain | None] | None = None
        self._kept: dict[object, Any] = {}
        self._kept_for: object = None

    def compose_body(self) -> ComposeResult:
        """Yield the parts and the sheet."""
        with Container(id="design-body"):
            yield PartBar(id="design-parts")
            yield Sheet(self._rows, id="sheet")

    def wished(self, shown: Shown) -> Wishes:
        """Return what is asked."""
        return self.wishes or usual_wishes(shown.site.units)

    # What the desk is asked.

    def ask(self, desk: Desk, shown: Shown) -> DesignAnswer:
        """Return every part but the sizes; what did not change is not asked again."""
        if self._kept_for is not shown.levels:
            self._kept, self._kept_for = {}, shown.levels
        site, layout, now, wishes = desk.site, shown.layout, shown.now, self.wished(shown)
        begun = counted_contents(shown.levels) if wishes.from_now and shown.levels.basis != "none" else None
        tank = wishes.tank if wishes.tank in layout.tanks else usual_tank(shown)
        day, step, rate = now.astimezone(site.zone).date(), wishes.step, wishes.rate_mm_h

        def once(key: object, answer: Callable[[], Any]) -> Any:
            if key not in self._kept:
                self._kept[key] = answer()
            return self._kept[key]

        return DesignAnswer(
            outlook=once("outlook", lambda: outlook(desk, now, with_years=False)),
            loads=once("loads", lambda: loads_of(site, layout, shown.levels)),
            storm=once(
                ("storm", rate, begun is None), lambda: storm_report(layout, rate, site.accuracy, begun)
            ),
            sheet=once(("stick", tank, step), lambda: table_of(site, layout, tank, day, step)),
            record=once("record", lambda: choose(past_rains(desk, now), None)),
            lasting=once("lasting", lambda: lasting_layout(desk, now)),
        )

    def answered(self) -> None:
        """Show the parts, and begin the run of the sizes where they are looked at."""
        answer = self._answer
        if answer is not None:
            # A dip changes what is in the tanks, not what other years would have brought: sizes outlast it.
            garden = (answer.lasting, answer.outlook.site, answer.record)
            if garden != self._sized_for:
                self.sizes.clear()
            self._sized_for = garden
        self.put_parts()
        self.run_if_asked()

    # The sizes.

    def question(self, answer: DesignAnswer, shown: Shown) -> SizeQuestion:
        """Return what is asked about storage now."""
        wishes = self.wished(shown)
        is_present = wishes.roof_share == 1.0 or answer.roof <= 0.0
        return SizeQuestion(None if is_present else answer.roof * wishes.roof_share, wishes.rule)

    def run_if_asked(self) -> None:
        """Begin the run that the part on the screen asks for, if it was not made yet."""
        answer, shown = self._answer, self.shown
        if answer is None or shown is None or answer.record is None or self.wished(shown).part != "size":
            return
        question = self.question(answer, shown)
        if self.run_share is None and question not in self.sizes:
            self.run_share = 0.0
            self._run(answer, answer.record, question)

    @work(thread=True, exclusive=True, group="sizes")
    def _run(self, answer: DesignAnswer, record: PastRain, question: SizeQuestion) -> None:
        worker = get_current_worker()
        told = time.monotonic()

        def progress(share: float) -> bool:
            nonlocal told
            if time.monotonic() - told > TOLD_EVERY:
                told = time.monotonic()
                self.post_message(self.SizesGoOn(share))
            return not worker.is_cancelled

        found: Sizing | str | None
        try:
            site, lasting = answer.outlook.site, answer.lasting
            found = sizing(
                site, lasting, record, roof_area=question.roof, rule=question.rule, progress=progress
            )
        except NoRecord as refused:
            found = str(refused)
        except Cancelled:
            found = None
        self.post_message(self.SizesEnded(question, found))

    @on(SizesGoOn)
    def _sizes_go_on(self, event: SizesGoOn) -> None:
        event.stop()
        if self.run_share is not None:
            self.run_share = event.share
            self.redraw()

    @on(SizesEnded)
    def _sizes_ended(self, event: SizesEnded) -> None:
        event.stop()
        self.run_share = None
        self.sizes[event.question] = event.answer
        self.put_parts()
        if event.answer is not None:
            self.run_if_asked()
        self.redraw()

    def step_back(self) -> bool:
        """Stop a run through the years."""
        if self.run_share is None:
            return False
        self.workers.cancel_group(self, "sizes")
        return True

    # What the keys ask.

    def point_at_day(self, step: int) -> bool:
        """Go to the part before or after."""
        if self.shown is not None:
            part = self.wished(self.shown).part
            self.choose_part(PARTS[(PARTS.index(part) + step) % len(PARTS)])
        return True

    @on(PartBar.PartChosen)
    def _part_chosen(self, event: PartBar.PartChosen) -> None:
        event.stop()
        self.choose_part(event.part)

    def choose_part(self, part: str) -> None:
        """Show a part from its beginning."""
        if self.shown is None:
            return
        self.wishes = replace(self.wished(self.shown), part=part)
        self.query_one("#sheet", Sheet).first = 0
        # A run that was stopped is begun anew by coming back.
        self.sizes = {asked: found for asked, found in self.sizes.items() if found is not None}
        self.put_parts()
        self.run_if_asked()
        self.redraw()

    def zoom_days(self, step: int) -> bool:
        """Change the figure a part is asked for: plus is more."""
        if self.shown is not None:
            self._wish(self.wished(self.shown).more(self.shown.site.units, -step))
        return True

    def shift_days(self, step: int) -> bool:
        """Change what a part is asked about: another tank, another rule, another beginning."""
        if self.shown is not None:
            sheet = None if self._answer is None else self._answer.sheet
            tanks, now = list(self.shown.layout.tanks), usual_tank(self.shown)
            self._wish(self.wished(self.shown).other(tanks, now if sheet is None else sheet.tank, step))
        return True

    def _wish(self, wishes: Wishes) -> None:
        self.wishes = wishes
        self.run_if_asked()
        self.ask_again()

    def page_to_print(self) -> PrintedPage | None:
        """Return the stick table as a page to print."""
        sheet = None if self._answer is None else self._answer.sheet
        return None if sheet is None else PrintedPage(f"stick-{sheet.tank}.html", stick_page(sheet))

    # What is shown.

    def redraw(self) -> None:
        """Write the sheet again."""
        self.query_one("#sheet", Sheet).redraw()

    def put_parts(self) -> None:
        """Write the list of parts again."""
        if self._answer is not None and self.shown is not None:
            parts = self._parts(self._answer, self.shown)
            self.query_one(PartBar).put(parts, self.wished(self.shown).part)

    def _parts(self, answer: DesignAnswer, shown: Shown) -> list[Part]:
        """Return every part with its answer in a sentence."""
        site, storm = shown.site, answer.storm
        is_narrow = any(load.is_short for load in storm.links.values()) or any(
            load.is_short for load in storm.overflows.values()
        )
        first = first_spill_words(storm, lambda key: label(site, key)) or "no roof is open."
        hardest = answer.loads.hardest
        presses = "" if hardest is None else f", {format_bearing(hardest, site.units)} at most"
        states = [reach_state(head)[0] for head in answer.outlook.heads.values()]
        reached = sum(state.startswith("✓") for state in states)
        sizes = self.sizes.get(self.question(answer, shown))
        told = "What another tank would bring."
        if answer.record is None:
            told = "Needs years of daily rain."
        elif isinstance(sizes, Sizing):
            told = f"{sizes.choices[0].result.dry_days_per_year:.0f} dry days a year as it is."
        slope = "" if answer.sheet is None else answer.sheet.slope_words
        rate = rate_words(storm.rate_mm_h, site.units)
        return [
            Part("storm", "Storm", f"At {rate}. {first}", is_narrow),
            Part("load", "Load", f"{format_mass(answer.loads.total_kg, site.units)} in all{presses}."),
            Part("reach", "Reach", f"{reached} of {len(states)} reached now."),
            Part("size", "Size", told),
            Part("stick", "Stick", slope or "What each reading means."),
        ]

    def write(self, shown: Shown, answer: DesignAnswer, width: int) -> list[Row]:
        """Return what the keys change, the part on the screen, and the command that prints the same."""
        ascii_only = isinstance(self.app, FramedApp) and self.app.ascii_only
        site, wishes = shown.site, self.wished(shown)
        if wishes.part == "storm":
            rows = storm_rows(answer.storm, site, width, ascii_only=ascii_only)
        elif wishes.part == "load":
            rows = load_rows(answer.loads, site, width, ascii_only=ascii_only)
        elif wishes.part == "reach":
            rows = reach_rows(answer.outlook, width, ascii_only=ascii_only)
        elif wishes.part == "size":
            rows = self._size_rows(answer, shown, width, ascii_only=ascii_only)
        elif answer.sheet is None:
            why = "No tank stands in the garden now, or so small a step makes too long a table: + makes it larger."
            rows = paragraph(why, width)
        else:
            rows = stick_rows(answer.sheet, width, stick_now(shown, answer.sheet))
        keys = self._keys_words(answer, shown)
        head = [*paragraph(keys, width, "key"), []] if keys else []
        tank = None if answer.sheet is None else answer.sheet.tank
        command = wishes.command(site.units, tank, self.question(answer, shown).roof)
        return [*head, *rows, [], *paragraph(f"The same as a command: {command}", width, "dim")]

    def _size_rows(self, answer: DesignAnswer, shown: Shown, width: int, *, ascii_only: bool) -> list[Row]:
        if answer.record is None:
            why = "What another tank or more roof would bring is told from years of daily rain."
            return [*paragraph(why, width), [], *paragraph(f"! {NO_PAST_RAIN}", width, "warn", indent=2)]
        if self.run_share is not None:
            years = (answer.record.last - answer.record.first).days / 365.25
            share = f"{100 * self.run_share:.0f} %"
            return paragraph(
                f"Running {years:.0f} years of {answer.record.station}: {share}. Esc stops.", width
            )
        found = self.sizes.get(self.question(answer, shown))
        if found is None:
            return paragraph("Stopped. Go to another part and come back to run it again.", width)
        if isinstance(found, str):
            return paragraph(f"! {found}", width, "warn", indent=2)
        return size_rows(found, shown.site, width, ascii_only=ascii_only, ink=self.app.no_color)

    def _keys_words(self, answer: DesignAnswer, shown: Shown) -> str:
        """Return what plus, minus and the brackets change in this part; nothing where they change nothing."""
        site, wishes = shown.site, self.wished(shown)
        if wishes.part == "storm":
            begun = "empty tanks" if answer.storm.is_from_empty else "what they hold now"
            return f"+ -  {rate_words(answer.storm.rate_mm_h, site.units)}   [ ]  from {begun}"
        if wishes.part == "size" and answer.record is not None:
            roof = self.question(answer, shown).roof
            beside = "present roof" if roof is None else f"{format_area(roof, site.units)} of roof beside"
            when = "after" if wishes.rule == "YAS" else "before"
            return f"+ -  {beside}   [ ]  yield {when} spillage ({wishes.rule})"
        if wishes.part == "stick":
            of = (
                "" if answer.sheet is None else f"   [ ]  {label(site, answer.sheet.tank)}   w  page to print"
            )
            return f"+ -  every {format_length(wishes.step, site.units)}{of}"
        return ""


def usual_tank(shown: Shown) -> str | None:
    """Return the tank whose stick is read: the one dipped last, else the first."""
    tanks = shown.layout.tanks
    dipped = [key for key, tank in shown.levels.tanks.items() if tank.state == "dipped" and key in tanks]
    return dipped[0] if dipped else next(iter(tanks), None)


def stick_now(shown: Shown, sheet: StickSheet) -> float | None:
    """Return what the stick of the table's tank would show now, [m]; None where nobody knows."""
    tank, level = shown.layout.tanks.get(sheet.tank), shown.levels.tanks.get(sheet.tank)
    if tank is None or level is None or level.depth_m is None:
        return None
    return reading_of(level.depth_m, shown.site.tanks[sheet.tank].dip, tank.brim, tank.silt)


def table_of(site: Site, layout: Layout, tank: str | None, day: date, step: float) -> StickSheet | None:
    """Return the stick table; None without a tank, or where so small a step makes more lines than anybody reads."""
    if tank is None:
        return None
    try:
        return stick_sheet(site, layout, tank, day, step)
    except ValueError:
        return None
