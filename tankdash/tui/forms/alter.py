"""The garden changed by answers: every tank, link, outlet and roof with what its file says, drawn as it is changed.

Nothing is written before Enter. Then only what was typed changes in the file; comments and all else stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message
from textual.worker import get_current_worker

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import printable
from tankdash.drawing.scene import Scene
from tankdash.journal.entries import Change as Setting
from tankdash.journal.entries import Dips, Entry, Move, Pour, TapClosed, TapOpened, Use
from tankdash.site import SiteError, check, load_text
from tankdash.site.document import parse_document
from tankdash.site.draft import ALWAYS, HEAD, NEVER, NEW, STANDS, UNTIL, Draft, Item
from tankdash.site.editing import EditError, Put, Take, edited
from tankdash.site.problems import Problem
from tankdash.site.rewriting import Original
from tankdash.site.starter import KINDS
from tankdash.tui.forms.asking import Asking
from tankdash.tui.forms.fields import asked
from tankdash.tui.forms.messages import FormLeft, SiteAltered
from tankdash.tui.forms.sitepicture import SitePicture, drawn_full
from tankdash.tui.frame import FramedApp
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Choice, ChoiceField, Field, FieldChanged, field_widget
from tankdash.units import format_length, format_volume

MEASURES = {
    "holds": "Holds",
    "at": "when filled to",
    "length": "Length inside",
    "width": "Width inside",
    "height": "Height inside",
    "diameter": "Diameter inside",
    "bottom": "Diameter at the floor",
    "top": "Diameter at the brim",
    "cone": "Height of the cone",
    "fill": "Share that is water",
}
"""What the measures of a shape are called."""
MOST_TOLD = 3
"""Changes told one by one; of more, the number."""


@dataclass(frozen=True)
class Outcome:
    """What the changes so far come to."""

    text: str
    """The file with them in."""
    scene: Scene | None = None
    """The garden they make; None where it cannot be."""
    words: tuple[str, ...] = ()
    """What they do, in sentences."""
    problems: tuple[Problem, ...] = ()
    """What keeps them from being written."""


class AlterForm(Asking):
    """What stands in the garden, to be changed."""

    NAME: ClassVar[str] = "garden"
    TITLE_WORDS: ClassVar[str] = TITLES["garden"]
    HELP_WORDS: ClassVar[str] = (
        "What the site file says, to be put right, added to or taken away. Enter writes the file: only what "
        "you change changes in it, comments stay, and the file as it was is kept beside it. The journal is not "
        "touched. What changed on a day (a valve, a base that sank) is an entry instead: leave, and use s."
    )

    class Reckoned(Message):
        """What the changes so far come to has been worked out."""

        def __init__(self, outcome: Outcome) -> None:
            super().__init__()
            self.outcome = outcome
            """What they come to."""

    def __init__(self, original: Original, shown: Shown) -> None:
        super().__init__()
        self.original = original
        """The file as it was when the form was opened."""
        self.shown = shown
        """The state then."""
        root = parse_document(original.text, original.path.name).root
        self.garden = Draft(root, shown.now.date(), shown.site.units)
        """What is typed so far."""
        self.item: Item = ("tanks", self.garden.ids("tanks")[0])
        """What is looked at."""
        self.mentioned = mentioned(shown.entries)
        """Ids that the journal names."""
        self._problems: tuple[Problem, ...] = ()
        self._is_awaited = False

    # The fields.

    def title_row(self) -> Row:
        """Return the title and the name of the file."""
        return [
            Span(f" {self.TITLE_WORDS}", "title"),
            Span(f"   {printable(self.original.path.name)}", "dim"),
        ]

    def compose_picture(self) -> ComposeResult:
        """Yield the picture of the tanks."""
        app = self.app
        yield SitePicture(ascii_only=isinstance(app, FramedApp) and app.ascii_only)

    def asked(self) -> Sequence[Field]:
        """Return what to look at, and what is asked about it."""
        return (
            self._ask("section", value=self.item[0]),
            self._ask("item", value=self.item[1], choices=self._items()),
            *self._about(),
        )

    def _ask(self, want: str, **more: object) -> Field:
        return asked("garden", want, self.shown.site.units, **more)  # type: ignore[arg-type]

    def _items(self) -> tuple[Choice, ...]:
        section = self.item[0]
        if section == HEAD:
            return (Choice("", "the whole garden"),)
        known = [Choice(key, printable(self.garden.label(section, key))) for key in self.garden.ids(section)]
        return (*known, Choice(NEW, "+"))

    def _about(self) -> list[Field]:
        """Return the fields of what is looked at; where nothing is, whether there should be."""
        section, key = self.item
        if key == NEW:
            return [self._ask("more", label=f"One more of the {section}")]
        fields = [self._field(name) for name in self.garden.keys(self.item)]
        return fields if section == HEAD else [*fields, self._stands()]

    def _field(self, key: str) -> Field:
        value = self.garden.value(self.item, key)
        if key == "shape.kind":
            kinds = [Choice(kind, known.label) for kind, known in KINDS.items()]
            first = [] if self.item in self.garden.added else [Choice("", "as it is")]
            return self._ask(key, value=value, choices=(*first, *kinds))
        if key.startswith("shape."):
            name = key.removeprefix("shape.")
            return self._ask("measure", name=key, label=MEASURES.get(name, name), value=value)
        if key in ("join.0", "join.1", "tank", "fills"):
            tanks = [Choice(tank, printable(self.garden.label("tanks", tank))) for tank in self._tanks(value)]
            return self._ask(key, value=value, choices=tanks)
        if key == "overflow_to":
            others = [tank for tank in self._tanks(value) if tank != self.item[1]]
            away = Choice("", "away", "what spills is lost")
            into = [Choice(tank, printable(self.garden.label("tanks", tank))) for tank in others]
            return self._ask(key, value=value, choices=(away, *into))
        return self._ask(key, value=value)

    def _tanks(self, named: str) -> list[str]:
        """Return the tanks that stand, and the one that is named though it does not."""
        standing = self.garden.ids("tanks")
        return standing if named in standing or not named else [*standing, named]

    def _stands(self) -> Field:
        choices = [Choice(STANDS, "stands there", "as before")]
        if self.item in self.garden.added:
            choices = [
                Choice(STANDS, "stands from today", "what the journal says of earlier days stays as it is"),
                Choice(ALWAYS, "stood there always", "it was only never written down"),
                Choice(NEVER, "is left out again", "nothing of it is written"),
            ]
        else:
            choices.append(Choice(UNTIL, "goes today", "today is its last day; the file keeps it"))
            if self.item[1] not in self.mentioned:
                choices.append(Choice(NEVER, "never stood there", "its lines go out of the file"))
        return self._ask("stands", value=self.garden.value(self.item, STANDS), choices=choices)

    # What is typed.

    @on(FieldChanged)
    async def _typed_or_chosen(self, event: FieldChanged) -> None:
        """Keep what was typed; ask about something else where that was chosen."""
        if event.name == "section":
            if event.value == self.item[0]:
                return
            ids = self.garden.ids(event.value) if event.value != HEAD else [""]
            await self._look_at((event.value, ids[0] if ids else NEW))
        elif event.name == "item":
            if event.value != self.item[1]:
                await self._look_at((self.item[0], event.value))
        elif event.name == "more":
            if event.value:
                await self._look_at(self.garden.add(self.item[0]))
        elif self.item[1] != NEW:
            had = self.garden.value(self.item, event.name)
            self.garden.put(self.item, event.name, event.value)
            if event.name == "shape.kind" and had != event.value:
                await self._ask_again(keep="shape.kind")

    async def _look_at(self, item: Item) -> None:
        other_section = item[0] != self.item[0]
        self.item = item
        chooser = self.field_named("item")
        if isinstance(chooser, ChoiceField):
            chooser.offer(self._items())
            chooser.take(item[1], quietly=True)
        await self._ask_again(keep="section" if other_section else "item")

    async def _ask_again(self, keep: str) -> None:
        """Ask about the item looked at in place of the last one; the cursor stays in the field `keep`."""
        box = self.query_one(".form-fields", VerticalScroll)
        with self.app.batch_update():
            for widget in self.field_widgets:
                if widget.field.name not in ("section", "item"):
                    await widget.remove()
            await box.mount(*(field_widget(field) for field in self._about()))
        kept = self.field_named(keep)
        if kept is not None:
            kept.focus_field()
        self.preview()

    # What it comes to.

    def preview(self) -> None:
        """Work out what the changes come to, away from the keyboard's thread, once the key can be seen."""
        if not self._is_awaited:
            self._is_awaited = True
            self.call_after_refresh(self._begin_to_reckon)

    def _begin_to_reckon(self) -> None:
        self._is_awaited = False
        self._reckon(self.garden.changes())

    @work(thread=True, exclusive=True, group="preview", description="preview")
    def _reckon(self, changes: list[Put | Take]) -> None:
        outcome = self.outcome_of(changes)
        if not get_current_worker().is_cancelled:
            self.post_message(self.Reckoned(outcome))

    def outcome_of(self, changes: Sequence[Put | Take]) -> Outcome:
        """Return what changes come to: the text, the picture, what they do, what is wrong with them."""
        try:
            text = edited(self.original.text, changes)
        except EditError as error:
            return Outcome(self.original.text, words=(f"! {error}",), problems=(_problem(str(error)),))
        try:
            site = load_text(text)
        except SiteError as error:
            return Outcome(text, words=self._troubles(error.problems), problems=error.problems)
        day = self.garden.today
        if any(change.path[-1] == "until" for change in changes):
            day += timedelta(days=1)
        scene, held = drawn_full(site, day)
        return Outcome(text, scene, self._words(changes, held, [one.text for one in check(site, day)]))

    def _troubles(self, problems: Sequence[Problem]) -> tuple[str, ...]:
        """Return what is wrong elsewhere than with what is looked at: that stands under its field."""
        here = ".".join(part for part in self.item if part and part != HEAD)
        elsewhere = [
            one for one in problems if not here or not f"{one.key}.".startswith((f"{here}.", f"{here}["))
        ]
        told = []
        for problem in elsewhere[:MOST_TOLD]:
            section, _, rest = problem.key.partition(".")
            key, _, field = rest.partition(".")
            name = ", ".join(
                part for part in (self.garden.label(section, key) if key else section, field) if part
            )
            told.append(f"! {name}: {problem.sentence}")
        return tuple(told) or ("! This does not fit: what is wrong stands under its field.",)

    def _words(self, changes: Sequence[Put | Take], held: float, warnings: list[str]) -> tuple[str, ...]:
        """Return what the changes do."""
        units, site = self.shown.site.units, self.shown.site
        if not changes:
            return ("Nothing is changed so far. Shown full.",)
        _, before = drawn_full(site, self.garden.today)
        more = held - before
        if abs(more) < 0.0005:
            holds = "as much as before"
        else:
            holds = f"{format_volume(abs(more), units)} {'more' if more > 0 else 'less'} than before"
        said = [self._told(change) for change in changes[:MOST_TOLD]]
        if len(changes) > MOST_TOLD:
            said.append(f"and {len(changes) - MOST_TOLD} more")
        words = [
            f"Changes: {'; '.join(said)}.",
            f"Full, it then holds {format_volume(held, units)}: {holds}.",
        ]
        words += self._about_bases(changes)
        known = {one.text for one in check(site, self.garden.today)}
        return (*words, *(f"! {text}" for text in warnings if text not in known))

    def _told(self, change: Put | Take) -> str:
        """Return one change in a few words."""
        path = change.path
        if path[0] not in ("tanks", "links", "outlets", "roofs"):
            return f"{path[0]}"
        name = self.garden.label(str(path[0]), str(path[1]))
        if len(path) == 2:
            return f"{name} is {'new' if isinstance(change, Put) else 'taken out'}"
        key = str(path[2])
        if key == "until":
            return f"{name} {'goes today' if isinstance(change, Put) else 'stays'}"
        first = self.garden.first((str(path[0]), str(path[1])), ".".join(str(step) for step in path[2:]))
        now = change.value if isinstance(change, Put) and isinstance(change.value, str) else ""
        return f"{name} {key}" + (f" {first or 'nothing'} → {now or 'nothing'}" if first or now else "")

    def _about_bases(self, changes: Sequence[Put | Take]) -> list[str]:
        """Return what is to be known of a base changed in the file: it counts from the first day."""
        tanks = [
            str(change.path[1])
            for change in changes
            if change.path[0] == "tanks" and change.path[-1] == "base"
        ]
        said = []
        for tank in tanks:
            later = [
                entry.record
                for entry in self.shown.entries
                if isinstance(entry.record, Setting)
                and (entry.record.item, entry.record.state) == (tank, "base")
            ]
            name = self.garden.label("tanks", tank)
            if later and later[-1].base_m is not None:
                height = format_length(later[-1].base_m, self.shown.site.units)
                said.append(
                    f"! The journal has set the base of {name} to {height} since: this counts before that."
                )
            elif tank in self.mentioned:
                said.append(
                    f"! It counts for all dips so far. If {name} sank on a day, leave this and use s."
                )
        return said

    @on(Reckoned)
    def _reckoned(self, event: Reckoned) -> None:
        """Show the garden as changed so far, and what is wrong under its field."""
        event.stop()
        outcome = event.outcome
        picture = self.query_one(SitePicture)
        if outcome.scene is not None:
            tanks = self.garden.ids("tanks")
            far = tanks.index(self.item[1]) if self.item[0] == "tanks" and self.item[1] in tanks else 0
            picture.scene, picture.first = outcome.scene, max(0, far - 1)
            picture.redraw()
        self.say(outcome.words)
        self._tell_problems(outcome.problems)

    def _tell_problems(self, problems: Sequence[Problem]) -> bool:
        """Say each problem of what is looked at under its field; return whether there was one."""
        told = False
        start = ".".join(part for part in self.item if part and part != HEAD)
        for widget in self.field_widgets:
            name = widget.field.name
            here = _dotted(start, name)
            fitting = [
                one for one in problems if one.key == here or one.key.startswith((f"{here}.", f"{here}["))
            ]
            if name == "stands":
                fitting = [one for one in problems if one.key in (start, f"{start}.until")]
            if fitting:
                widget.complain(fitting[0].sentence)
                told = True
            elif self._problems:
                widget.complain(None)
        self._problems = tuple(problems)
        return told

    # Keys.

    def action_save(self) -> None:
        """Hand the changed file on, or tell what keeps it from being written."""
        if self.is_saving:
            return
        outcome = self.outcome_of(self.garden.changes())
        if outcome.problems:
            self.say(outcome.words)
            if self._tell_problems(outcome.problems):
                self._go_to_trouble()
            return
        self.is_saving = True
        self.app.post_message(SiteAltered(self, self.original, outcome.text))

    def _go_to_trouble(self) -> None:
        for widget in self.field_widgets:
            if widget.is_wrong:
                widget.focus_field()
                widget.scroll_visible(animate=False)
                return

    @property
    def would_lose(self) -> bool:
        """Whether anything was changed."""
        return bool(self.garden.changes())

    def action_leave(self) -> None:
        """Leave; nothing was written."""
        self.app.post_message(FormLeft(self, {}))

    def refreshed(self, shown: Shown) -> None:
        """Take a newer state; the file is looked at again before it is replaced."""
        self.shown = replace(shown, notice=None)


def _dotted(start: str, name: str) -> str:
    """Return the key a problem of a field is reported under."""
    if name in ("join.0", "join.1"):
        name = f"join[{int(name[-1]) + 1}]"
    return f"{start}.{name}" if start else name


def _problem(sentence: str) -> Problem:
    return Problem("", None, "", sentence)


def mentioned(entries: Sequence[Entry]) -> frozenset[str]:
    """Return the ids of tanks, links, outlets and roofs that entries of the journal name."""
    found: set[str | None] = set()
    for entry in entries:
        match entry.record:
            case Dips(tanks):
                found |= {dip.tank for dip in tanks}
            case Move(_, source, target):
                found |= {source, target}
            case Pour(_, tank):
                found.add(tank)
            case Setting(item):
                found.add(item)
            case Use() as drawn:
                found.add(drawn.outlet)
            case TapOpened() | TapClosed() as running:
                found |= {running.outlet, running.source, running.target}
    return frozenset(one for one in found if one)
