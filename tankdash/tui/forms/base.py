"""What every form has in common: Enter saves, Escape leaves and keeps the draft, the effect is shown before.

A form knows nothing of the journal: it turns fields into a record with the keeping floor's own reading of words,
and says so in a message; whoever holds the journal writes it down.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from textual import events, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Input

from tankdash.drawing.canvas import Row, Span
from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering import EntryError, check_time
from tankdash.keeping.when import DoubledTime, TimeError, parse_time
from tankdash.tui.forms.effects import change_sentences, imagined
from tankdash.tui.forms.understood import FormLeft, FormSaved, Understood
from tankdash.tui.keeper import Keeper
from tankdash.tui.state import Shown
from tankdash.tui.widgets.field import AnyField, ChoiceField, Field, FieldChanged, TypedField, field_widget
from tankdash.tui.widgets.keybar import Foot, KeyBar
from tankdash.tui.widgets.picture import Picture, paragraph

Values = Mapping[str, str]
"""What the fields hold, by name, units included."""

WHEN = Field("at", "When", "now, or such as: today 7:30, yesterday 18:00, 2026-05-03 07:30", "now")
NOTE = Field("note", "Note", "anything worth remembering; may stay empty")


@dataclass(frozen=True)
class Effect:
    """What saving would do, for the eyes."""

    shown: Shown | None = None
    """The state with it in; None when nothing can be drawn."""
    words: tuple[str, ...] = ()
    """What changes, a sentence each."""


class Form(ModalScreen[None]):
    """A form; one subclass for each kind of entry."""

    NAME: ClassVar[str] = ""
    """The name of its action."""
    TITLE_WORDS: ClassVar[str] = ""
    """What stands at its top."""
    HELP_WORDS: ClassVar[str] = ""
    """What it is for, a few sentences; F1 shows them."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "save", "save", show=False, id="form-save"),
        Binding("escape", "leave", "leave", show=False, id="form-leave"),
        Binding("tab,down", "go(1)", "next field", show=False, id="form-next"),
        Binding("shift+tab,up", "go(-1)", "field before", show=False, id="form-previous"),
        Binding("f1", "explain", "help", show=False, id="form-help"),
    ]
    FEET: ClassVar[tuple[Foot, ...]] = (
        Foot("Enter", "save", "screen.save"),
        Foot("Esc", "leave", "screen.leave"),
        Foot("Tab", "next field", "screen.go(1)"),
        Foot("F1", "help", "screen.explain"),
    )

    class Previewed(Message):
        """The effect of what is typed has been worked out."""

        def __init__(self, values: dict[str, str], effect: Effect) -> None:
            super().__init__()
            self.values = values
            """The values it was worked out for."""
            self.effect = effect
            """What they would do."""

    def __init__(self, keeper: Keeper, shown: Shown, draft: Values | None = None) -> None:
        super().__init__(classes="form")
        self.keeper = keeper
        """Lends the desk."""
        self.shown = shown
        """The state the form was opened on."""
        self.draft = dict(draft or {})
        """What was typed before it was left the last time."""
        self.asked = tuple(self.fields(shown))
        """Its fields, in order."""
        self._saving = False

    # What a kind of form says of itself.

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return what the form asks."""
        raise NotImplementedError

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the record and the words typed.

        Raises
        ------
        EntryError
            If a field cannot be read; it names the field.
        """
        raise NotImplementedError

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return what saving would change, in sentences."""
        return change_sentences(before, after)

    # How it looks.

    def compose(self) -> ComposeResult:
        """Yield title, picture and words on one side, fields on the other, keys at the foot."""
        yield Picture([self._title()], classes="form-title")
        with Horizontal(classes="form-body"):
            with Vertical(classes="form-effect"):
                yield from self.compose_picture()
                yield EffectWords(classes="form-words")
            with VerticalScroll(classes="form-fields", can_focus=False):
                for field in self.asked:
                    yield field_widget(field, self.draft.get(field.name))
        yield KeyBar(self.FEET)

    def compose_picture(self) -> ComposeResult:
        """Yield the picture that previews the effect, if the form has one."""
        return iter(())

    def show_picture(self, effect: Effect) -> None:
        """Show the effect in the picture."""

    def _title(self) -> Row:
        return [Span(f" {self.TITLE_WORDS}", "title"), Span(f"   {self.shown.site.name}", "dim")]

    def on_mount(self) -> None:
        """Begin at the first field, and say so if an earlier draft stands there."""
        self.sub_title = self.NAME
        fields = self.field_widgets
        if fields:
            fields[0].focus_field()
        if self.draft:
            self.say(("What you typed before is still here.",))
        self.preview()

    # What is typed.

    @property
    def field_widgets(self) -> list[AnyField]:
        """The fields on the screen, in order."""
        return [widget for widget in self.query(".field") if isinstance(widget, TypedField | ChoiceField)]

    @property
    def values(self) -> dict[str, str]:
        """What the fields hold, units included."""
        return {widget.field.name: widget.value for widget in self.field_widgets}

    def field_named(self, name: str) -> AnyField | None:
        """Return the field of that name."""
        for widget in self.field_widgets:
            if widget.field.name == name:
                return widget
        return None

    def say(self, sentences: Sequence[str], role: str = "plain") -> None:
        """Show words beside the fields."""
        self.query_one(EffectWords).say(tuple(sentences), role)

    def time(self, values: Values) -> datetime:
        """Return the time the entry is about.

        Raises
        ------
        EntryError
            If it cannot be read, is still to come, or is shown twice by the clock and nobody said which.
        """
        now, zone = self.shown.now, self.shown.site.zone
        text = " ".join(values.get("at", "").lower().split())
        if text in {"", "now"}:
            return now
        words, _, last = text.rpartition(" ")
        fold = {"first": 0, "second": 1}.get(last)
        try:
            at = parse_time(text if fold is None else words, zone, now, fold)
        except DoubledTime as error:
            raise EntryError("at", f"{error} Add the word first or second.") from error
        except TimeError as error:
            raise EntryError("at", str(error)) from error
        return check_time(self.shown.site, at, now)

    def read(self, values: Values) -> Understood:
        """Return what the fields say.

        Raises
        ------
        EntryError
            If a field cannot be read; it names the field.
        """
        at = self.time(values)
        with self.keeper.desk() as desk:
            record, words = self.understand(values, at, desk)
        return Understood(record, words, at, values.get("note", "").strip())

    @on(FieldChanged)
    def _field_changed(self, event: FieldChanged) -> None:
        event.stop()
        self.preview()

    def preview(self) -> None:
        """Work out what is typed, away from the keyboard's thread."""
        self._work_out(self.values, self.shown)

    @work(thread=True, exclusive=True, group="preview")
    def _work_out(self, values: dict[str, str], shown: Shown) -> None:
        try:
            understood = self.read(values)
            with self.keeper.desk() as desk:
                after = imagined(desk, shown, understood)
            effect = Effect(after, self.effect_words(shown, after))
        except EntryError:
            effect = Effect()
        self.post_message(self.Previewed(values, effect))

    @on(Previewed)
    def _previewed(self, event: Previewed) -> None:
        event.stop()
        if event.values == self.values:
            self.show_picture(event.effect)
            if event.effect.words or not self.draft:
                self.say(event.effect.words)

    # Keys.

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_save()

    def action_save(self) -> None:
        """Read the fields; tell what is wrong under the field, or hand the record on."""
        if self._saving:
            return
        try:
            understood = self.read(self.values)
        except EntryError as error:
            self.complain(error)
            return
        self._saving = True
        self.app.post_message(FormSaved(self, understood))

    def complain(self, error: EntryError) -> None:
        """Show what is wrong under its field and put the cursor there; nothing typed changes."""
        self._saving = False
        widget = self.field_named(error.field)
        if widget is None:
            self.say((error.sentence,), "warn")
            return
        widget.complain(error.sentence)
        widget.focus_field()
        widget.scroll_visible(animate=False)

    def trouble(self, sentence: str) -> None:
        """Show that the entry could not be written; the form stays as it is."""
        self._saving = False
        self.say((sentence,), "warn")

    def action_leave(self) -> None:
        """Leave; the draft is kept."""
        begun = {field.name: field.first for field in self.asked}
        draft = {widget.field.name: widget.typed for widget in self.field_widgets}
        self.app.post_message(
            FormLeft(self, {} if all(begun.get(name, "") == text for name, text in draft.items()) else draft)
        )

    def action_go(self, step: int) -> None:
        """Go to another field."""
        fields = self.field_widgets
        for number, widget in enumerate(fields):
            if widget.has_focus or (isinstance(widget, TypedField) and widget.input.has_focus):
                fields[(number + step) % len(fields)].focus_field()
                return
        if fields:
            fields[0].focus_field()

    def action_explain(self) -> None:
        """Show what this form is for and what the focused field takes."""
        self.say((self.HELP_WORDS,))

    def on_key(self, event: events.Key) -> None:
        """Keep letters that no field takes from doing anything else."""
        event.stop()

    def refreshed(self, shown: Shown) -> None:
        """Take a newer state, when the journal or the site changed under the open form."""
        self.shown = replace(shown, notice=None)
        self.preview()


class EffectWords(Picture):
    """What saving would do, in words."""

    def __init__(self, *, classes: str) -> None:
        super().__init__(classes=classes)
        self._sentences: tuple[str, ...] = ()
        self._role = "plain"

    def say(self, sentences: tuple[str, ...], role: str = "plain") -> None:
        """Show other sentences."""
        if (sentences, role) != (self._sentences, self._role):
            self._sentences, self._role = sentences, role
            self.refresh(layout=True)
            self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the sentences, wrapped."""
        return [row for sentence in self._sentences for row in paragraph(sentence, width, self._role)]
