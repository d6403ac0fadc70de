"""A screen that asks: fields on one side, a picture and words on the other, Enter to finish, Escape to leave.

What is typed is kept whatever happens; what is wrong is said under its field.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping, Sequence
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input

from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.entering.naming import EntryError
from tankdash.tui.widgets.field import (
    AnyField,
    ChoiceField,
    Field,
    FieldChanged,
    HelpAsked,
    TypedField,
    field_widget,
)
from tankdash.tui.widgets.keybar import Foot, KeyBar
from tankdash.tui.widgets.picture import Picture, paragraph

HELPING = "-helping"
"""Class of a form that tells of its field in place of its picture."""

Values = Mapping[str, str]
"""What the fields hold, by name, units included."""


class EffectWords(Picture):
    """What saving would do, in words."""

    def __init__(self, *, classes: str) -> None:
        super().__init__(classes=classes)
        self._sentences: tuple[str, ...] = ()
        self._role = "plain"
        self._most = (0, 0)
        """The most lines they took so far, and at which width: the picture above must not jump at each key."""

    def say(self, sentences: tuple[str, ...], role: str = "plain") -> None:
        """Show other sentences."""
        if (sentences, role) != (self._sentences, self._role):
            self._sentences, self._role = sentences, role
            if self.size.height > 0:
                self.redraw()
            else:
                self.refresh(layout=True)

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the sentences, wrapped; those that begin with a mark of warning stand out."""
        rows = self._wrapped(width)
        most = max(len(rows), self._most[0] if self._most[1] == width else 0)
        self._most = (most, width)
        room = height or self.size.height
        if 0 < room < len(rows):
            rows[room - 1 :] = [[Span("  …", "dim")]]
        return rows + [[] for _ in range(most - len(rows))]

    def _wrapped(self, width: int) -> list[Row]:
        rows: list[Row] = []
        for sentence in self._sentences:
            role = "warn" if sentence.startswith("! ") else self._role
            rows += paragraph(sentence, width, role, indent=2 if role == "warn" else 0)
        return rows


class HelpWords(Picture):
    """What the field with the focus wants, and what the form is for."""

    def __init__(self) -> None:
        super().__init__(classes="form-help")
        self._field: Field | None = None
        self._form = ""

    def tell(self, field: Field | None, form: str) -> None:
        """Tell of another field."""
        self._field, self._form = field, form
        self.refresh(layout=True)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words, wrapped."""
        rows = field_help(self._field, width) if self._field is not None else []
        return [*rows, [], *paragraph(self._form, width, "dim")]


def field_help(field: Field, width: int) -> list[Row]:
    """Return the help of one field: what it wants, what may be typed, what it means to leave it empty."""
    rows = paragraph(field.label, width, "strong") + paragraph(field.says, width)
    for choice in field.choices:
        answer = choice.words if not choice.meaning else f"{choice.words}: {choice.meaning}"
        rows += paragraph(f"  {answer}", width, indent=4)
    if field.examples:
        rows += [[Span(line, "key")] for line in lines_of_whole(("Such as:", *field.examples), width)]
    if field.unit:
        rows += paragraph(f"Digits alone are {field.unit}.", width)
    if field.empty:
        rows += paragraph(f"Left empty: {field.empty}.", width)
    return rows


def lines_of_whole(pieces: Sequence[str], width: int) -> list[str]:
    """Return pieces side by side in as few lines as hold them, none of them broken.

    Examples
    --------
    >>> lines_of_whole(("Such as:", "84 cm", "20-30 cm"), 16)
    ['Such as:  84 cm', '  20-30 cm']
    """
    lines = [pieces[0]]
    for piece in pieces[1:]:
        if len(lines[-1]) + 2 + len(piece) <= width:
            lines[-1] += f"  {piece}"
        else:
            lines.append(f"  {piece}")
    return lines


class Asking(ModalScreen[None]):
    """Fields to fill in."""

    NAME: ClassVar[str] = ""
    """The name of the action that opens it, under which a draft of it is kept; empty where none is."""
    AUTO_FOCUS: ClassVar[str | None] = ""  # the form puts the cursor itself, with the label in sight
    TITLE_WORDS: ClassVar[str] = ""
    """What stands at its top."""
    HELP_WORDS: ClassVar[str] = ""
    """What it is for, a few sentences; help shows them below those of the field."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "save", "save", show=False, id="form-save"),
        Binding("escape", "back", "leave", show=False, id="form-leave"),
        Binding("tab,down", "go(1)", "next field", show=False, id="form-next"),
        Binding("shift+tab,up", "go(-1)", "field before", show=False, id="form-previous"),
        Binding("f1,question_mark", "explain", "help", show=False, id="form-help"),
    ]
    FEET: ClassVar[tuple[Foot, ...]] = (
        Foot("Enter", "save", "screen.save"),
        Foot("Esc", "leave", "screen.back"),
        Foot("Tab", "next field", "screen.go(1)"),
        Foot("F1", "help", "screen.explain"),
    )

    def __init__(self, draft: Values | None = None) -> None:
        super().__init__(classes="form")
        self.draft = dict(draft or {})
        """What was typed before it was left the last time."""
        self.is_saving = False
        """Whether what was finished here is on its way to the disk; keys wait for that."""
        self._is_warned = False

    @abstractmethod
    def asked(self) -> Sequence[Field]:
        """Return the fields to begin with, in order."""

    def title_row(self) -> Row:
        """Return the line at the top."""
        return [Span(f" {self.TITLE_WORDS}", "title")]

    def compose(self) -> ComposeResult:
        """Yield title, picture and words on one side, fields on the other, keys at the foot."""
        yield Picture([self.title_row()], classes="form-title")
        with Horizontal(classes="form-body"):
            with Vertical(classes="form-effect"):
                yield from self.compose_picture()
                yield EffectWords(classes="form-words")
                with VerticalScroll(classes="form-helping", can_focus=False):
                    yield HelpWords()
            with VerticalScroll(classes="form-fields", can_focus=False):
                for field in self.asked():
                    yield field_widget(field, self.draft.get(field.name))
        yield KeyBar(self.FEET)

    def compose_picture(self) -> ComposeResult:
        """Yield the picture that previews the effect, if there is one."""
        return iter(())

    def on_mount(self) -> None:
        """Begin at the first field, and say so if an earlier draft stands there."""
        fields = self.field_widgets
        if fields:
            fields[0].focus_field()
        if self.draft:
            self.say(("What you typed before is still here.",))
        self.preview()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Bring the whole field into sight, its label and its explanation too; help follows the focus."""
        for widget in self.field_widgets:
            if widget is event.widget or widget in event.widget.ancestors:
                self.call_after_refresh(widget.scroll_visible, animate=False)
        if self.has_class(HELPING):
            self._help()

    @property
    def field_widgets(self) -> list[AnyField]:
        """The fields on the screen, in order; none before they are laid out."""
        return [
            widget
            for box in self.query(".form-fields")
            for widget in box.children
            if isinstance(widget, TypedField | ChoiceField)
        ]

    @property
    def values(self) -> dict[str, str]:
        """What the fields hold, units included."""
        return {widget.field.name: widget.value for widget in self.field_widgets}

    def typed(self) -> dict[str, str]:
        """Return what the fields hold exactly as typed, if that is more than they held at first; else nothing."""
        widgets = self.field_widgets
        if not widgets:  # left before it was laid out
            return dict(self.draft)
        if all(widget.typed == widget.field.first for widget in widgets):
            return {}
        return {widget.field.name: widget.typed for widget in widgets}

    def field_named(self, name: str) -> AnyField | None:
        """Return the field of that name."""
        return next((widget for widget in self.field_widgets if widget.field.name == name), None)

    def say(self, sentences: Sequence[str], role: str = "plain") -> None:
        """Show words beside the fields."""
        for words in self.query(EffectWords):  # none before it is laid out
            words.say(tuple(sentences), role)

    def complain(self, error: EntryError) -> None:
        """Show what is wrong under its field and put the cursor there; nothing typed changes."""
        widget = self.field_named(error.field)
        if widget is None:
            self.say((f"! {error.sentence}",))
            return
        widget.complain(error.sentence)
        widget.focus_field()
        widget.scroll_visible(animate=False)

    def trouble(self, sentence: str) -> None:
        """Show that what was finished here could not be written; what was typed stays, and may be saved again."""
        self.is_saving = False
        self.say((f"! {sentence}",))

    def preview(self) -> None:
        """Show what the fields mean so far."""

    @on(FieldChanged)
    def _field_changed(self, event: FieldChanged) -> None:
        event.stop()
        self._is_warned = False
        self.preview()

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_save()

    @abstractmethod
    def action_save(self) -> None:
        """Finish."""

    @abstractmethod
    def action_leave(self) -> None:
        """Leave; what was typed is kept."""

    @property
    def would_lose(self) -> bool:
        """Whether leaving throws away what was typed."""
        return False

    def action_back(self) -> None:
        """Go back one step: from the help to the picture, else out; what would be lost is asked about first."""
        if self.has_class(HELPING):
            self.action_explain()
        elif self.would_lose and not self._is_warned:
            self._is_warned = True
            self.say(
                ("! Nothing is written yet. Enter writes it; Esc once more throws away what you typed.",)
            )
        else:
            self.action_leave()

    def action_go(self, step: int) -> None:
        """Go to another field."""
        fields, here = self.field_widgets, self.field_focused
        if here is not None:
            fields[(fields.index(here) + step) % len(fields)].focus_field()
        elif fields:
            fields[0].focus_field()

    @on(HelpAsked)
    def _help_asked(self, event: HelpAsked) -> None:
        event.stop()
        self.action_explain()

    def action_explain(self) -> None:
        """Tell of the field with the focus in place of the picture, or bring the picture back."""
        self.toggle_class(HELPING)
        self._help()

    @property
    def field_focused(self) -> AnyField | None:
        """The field the cursor is in."""
        return next(
            (widget for widget in self.field_widgets if widget.has_focus_within or widget.has_focus), None
        )

    def _help(self) -> None:
        widget = self.field_focused
        self.query_one(HelpWords).tell(None if widget is None else widget.field, self.HELP_WORDS)
        self.query_one(".form-helping").scroll_home(animate=False)
