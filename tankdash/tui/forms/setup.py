"""The guided setup: questions a gardener can answer, the tanks drawn meanwhile, a commented file at the end.

It writes nothing until Enter, and never over a file that is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import events, on, work
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message

from tankdash.drawing.scene import Scene
from tankdash.keeping.entering.naming import EntryError
from tankdash.site import SiteError, load_text
from tankdash.site.starter import JOINS, KINDS, Answers, starter
from tankdash.tui.cautionwords import caution
from tankdash.tui.forms.asking import Asking, Values
from tankdash.tui.forms.fields import asked
from tankdash.tui.forms.messages import SiteDescribed
from tankdash.tui.forms.sitepicture import SitePicture, drawn_full
from tankdash.tui.frame import FramedApp
from tankdash.tui.widgets.field import Choice, Field, FieldChanged, TypedField, field_widget
from tankdash.units import QuantityError, Units, format_volume, parse_length

MOST_TANKS = 12
"""Tanks the setup asks for; more are added to the file by hand."""

_LENGTHS = ("link", "tap", "roof_length", "roof_width")
_WAITS = "The picture shows the answers before that one."
"""Said while an answer cannot be drawn."""
_OFFERED = {"base": ("20", "8"), "link": ("8", "3"), "tap": ("10", "4")}
"""Heights offered, in centimetres and in inches."""
_OF_A_TANK = ("kind", "base", "joined")
"""What is asked about each tank; how it is joined, of all but the first."""


class SetupForm(Asking):
    """Questions about a garden."""

    TITLE_WORDS: ClassVar[str] = "Set up your garden"
    HELP_WORDS: ClassVar[str] = (
        "All heights are measured from one fixed mark, the datum: a slab or a step that will not move. Of "
        "each tank give how high its inside floor stands above that mark; of the links and the tap, how "
        "high they enter above the floor. Guess where you cannot measure: the file that is written says "
        "what can be changed."
    )

    class SceneDrawn(Message):
        """The answers so far have been turned into a picture, or into what is wrong with them."""

        def __init__(self, scene: Scene | None, words: tuple[str, ...]) -> None:
            super().__init__()
            self.scene = scene
            """The picture."""
            self.words = words
            """What they come to."""

    def __init__(self, path: Path, timezone: str, units: Units, now: datetime) -> None:
        super().__init__()
        self.path = path
        """Where the file will be written."""
        self.timezone = timezone
        """Zone of this machine, offered first."""
        self.first_units = units
        """Units offered first."""
        self.now = now
        """The time, for the day the garden is drawn of."""
        self.labels: dict[str, str] = {}
        """What each field asks, by name, to say which one keeps the picture waiting."""

    def asked(self) -> Sequence[Field]:
        """Return the questions; those about each tank follow the number of tanks."""
        return (
            self._ask("name", "My garden"),
            self._ask("units", self.first_units),
            self._ask("count", "2"),
            *self._about_tank(1),
            *self._about_tank(2),
            *(self._length(name, self.first_units) for name in _LENGTHS),
            self._ask("datum", Answers().datum),
            self._ask("timezone", self.timezone),
            self._ask("path", str(self.path)),
        )

    def _ask(self, want: str, value: str = "") -> Field:
        return asked("setup", want, self.first_units, value=value)

    def _length(self, name: str, units: Units) -> Field:
        """Return the field of a length, its unit beside it: heights in small units, a roof in large ones."""
        want, _, number = name.partition("-")
        small, large = ("cm", "m") if units == "metric" else ("in", "ft")
        return asked(
            "setup",
            want,
            units,
            name=name,
            label=f"Tank {number} stands how high" if number else None,
            value=_OFFERED[want][units != "metric"] if want in _OFFERED else "",
            unit=large if want.startswith("roof") else small,
        )

    def _about_tank(self, number: int, units: Units | None = None) -> list[Field]:
        kinds = tuple(Choice(key, kind.label) for key, kind in KINDS.items())
        joins = tuple(Choice(key, words) for key, words in JOINS.items())
        fields = [
            asked(
                "setup",
                "kind",
                self.first_units,
                name=f"kind-{number}",
                label=f"Tank {number} is a",
                choices=kinds,
            ),
            self._length(f"base-{number}", units or self.first_units),
        ]
        if number > 1:
            fields.append(
                asked(
                    "setup",
                    "joined",
                    self.first_units,
                    name=f"joined-{number}",
                    label=f"From tank {number - 1} to tank {number}",
                    choices=joins,
                )
            )
        return fields

    def compose_picture(self) -> ComposeResult:
        """Yield the picture of the tanks."""
        app = self.app
        yield SitePicture(ascii_only=isinstance(app, FramedApp) and app.ascii_only)

    @on(FieldChanged)
    async def _count_changed(self, event: FieldChanged) -> None:
        """Ask about as many tanks as there are."""
        if event.name != "count" or not event.value.isdecimal():
            return
        wanted = max(1, min(MOST_TANKS, int(event.value)))
        have = sum(widget.field.name.startswith("kind-") for widget in self.field_widgets)
        fields = self.query_one(".form-fields", VerticalScroll)
        for number in range(have, wanted, -1):
            for name in _OF_A_TANK:
                widget = self.field_named(f"{name}-{number}")
                if widget is not None:
                    await widget.remove()
        before = self.field_named("link")
        for number in range(have + 1, wanted + 1):
            for field in self._about_tank(number, _units(self.values["units"])):
                kept = self.field_named(field.name.replace(str(number), str(number - 1)))
                await fields.mount(field_widget(field, None if kept is None else kept.typed), before=before)
        self.preview()

    @on(FieldChanged)
    def _units_changed(self, event: FieldChanged) -> None:
        """Ask for the lengths in the units chosen."""
        if event.name == "units":
            for widget in self.field_widgets:
                if isinstance(widget, TypedField) and widget.field.unit:
                    widget.ask_anew(self._length(widget.field.name, _units(event.value)))

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Show the tank that is asked about, where not all fit."""
        here = self.field_focused
        _, _, number = ("" if here is None else here.field.name).partition("-")
        picture = self.query_one(SitePicture)
        if number and picture.first != max(0, int(number) - 2):
            picture.first = max(0, int(number) - 2)
            picture.redraw()

    def answers(self, values: Values) -> Answers:
        """Return what the fields say.

        Raises
        ------
        EntryError
            If one cannot be read.
        """
        units = _units(values["units"])
        count = values["count"].strip()
        if not count.isdecimal() or not 1 <= int(count) <= MOST_TANKS:
            raise EntryError("count", f"Write how many tanks there are, 1 to {MOST_TANKS}.")
        numbers = range(1, int(count) + 1)
        for name in (*(f"base-{number}" for number in numbers), *_LENGTHS):
            text = values.get(name, "").strip()
            if not text and name in ("link", "roof_length", "roof_width"):
                continue
            try:
                parse_length(text, units, negative=name.startswith("base-"))
            except QuantityError as error:
                raise EntryError(name, str(error)) from error
        return Answers(
            name=values["name"].strip() or "My garden",
            timezone=values["timezone"].strip() or "UTC",
            units=units,
            datum=values["datum"].strip() or Answers().datum,
            kinds=[values.get(f"kind-{number}", "tote") for number in numbers],
            bases=[values.get(f"base-{number}", "0").strip() for number in numbers],
            joins=[values.get(f"joined-{number}", "link") for number in numbers[1:]],
            link_height=values["link"].strip() or None,
            tap_height=values["tap"].strip() or "0",
            roof_length=values["roof_length"].strip() or None,
            roof_width=values["roof_width"].strip() or None,
        )

    def preview(self) -> None:
        """Draw the garden as described so far."""
        self.labels = {widget.field.name: widget.field.label for widget in self.field_widgets}
        self._draw_site(self.values)

    @work(thread=True, exclusive=True, group="preview")
    def _draw_site(self, values: dict[str, str]) -> None:
        try:
            site = load_text(starter(self.answers(values)))
        except EntryError as error:
            where = self.labels.get(error.field, "")
            said = f"! {where}: {error.sentence}" if where else f"! {error.sentence}"
            self.post_message(self.SceneDrawn(None, (said, _WAITS)))
            return
        except SiteError as error:
            told = tuple(f"! {one.sentence}" for one in error.problems[:2])
            self.post_message(self.SceneDrawn(None, (*told, _WAITS)))
            return
        scene, held = drawn_full(site, self.now.date())
        holds = format_volume(held, site.units)
        words = (
            f"Full, this holds {holds}, drawn to scale from the answers so far.",
            caution("weight").split(". ")[0] + ".",
        )
        self.post_message(self.SceneDrawn(scene, words))

    @on(SceneDrawn)
    def _scene_drawn(self, event: SceneDrawn) -> None:
        event.stop()
        picture = self.query_one(SitePicture)
        if event.scene is not None:
            picture.scene = event.scene
            picture.redraw()
        self.say(event.words)

    def action_save(self) -> None:
        """Hand the file on, if every answer fits."""
        values = self.values
        try:
            text = starter(self.answers(values))
            load_text(text)
            path = self._free_path(values["path"])
        except EntryError as error:
            self.complain(error)
        except SiteError as error:
            self.say(tuple(f"! {problem.key}: {problem.sentence}" for problem in error.problems[:3]))
        else:
            self.app.post_message(SiteDescribed(path, text))

    def _free_path(self, text: str) -> Path:
        path = Path(text.strip()).expanduser()
        if path.suffix not in (".yaml", ".yml"):
            raise EntryError("path", "Give the file a name that ends in .yaml, such as garden.yaml.")
        if path.exists():
            raise EntryError("path", f"{path} is there already and is left as it is: choose another name.")
        return path

    @property
    def would_lose(self) -> bool:
        """Whether anything was answered."""
        return bool(self.typed())

    def action_leave(self) -> None:
        """Go back to the choice; nothing was written."""
        self.app.pop_screen()


def _units(chosen: str) -> Units:
    """Return the units of the answer chosen."""
    known: dict[str, Units] = {"us": "us", "imperial": "imperial"}
    return known.get(chosen, "metric")
