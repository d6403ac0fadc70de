"""Fields of a form: a label, what is typed, and a line under it that explains or complains.

A field never throws away what was typed; a complaint replaces the explanation until the text changes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import printable
from tankdash.tui.widgets.picture import Picture, paragraph


@dataclass(frozen=True)
class Choice:
    """One of several answers."""

    value: str
    """What is written down."""
    words: str
    """What is shown."""
    meaning: str = ""
    """What follows from it, for who asks."""


@dataclass(frozen=True)
class Field:
    """What a form asks."""

    name: str
    """The name an unreadable entry is reported under."""
    label: str
    """The question, in a few words."""
    explain: str
    """One line that says what to type."""
    value: str = ""
    """What stands there at first."""
    unit: str = ""
    """Unit that a bare number takes, shown after the text; empty when the text stands alone."""
    choices: tuple[Choice, ...] = ()
    """Answers to choose from; empty for a field that is typed."""
    says: str = ""
    """What it wants and why, for who asks."""
    empty: str = ""
    """What it means to leave it empty; nothing where it cannot be."""
    examples: tuple[str, ...] = ()
    """What may be typed."""
    is_free: bool = False
    """Whether it takes any words, so that a question mark is one of them."""

    @property
    def first(self) -> str:
        """What stands in it before anything is typed or chosen."""
        values = [choice.value for choice in self.choices]
        return self.value if not values or self.value in values else values[0]


class FieldChanged(Message):
    """The text or the choice of a field changed."""

    def __init__(self, name: str, value: str) -> None:
        super().__init__()
        self.name = name
        """Name of the field."""
        self.value = value
        """What it holds now, the shown unit included."""


class HelpAsked(Message):
    """A question mark was typed where none belongs."""


_BARE = frozenset("0123456789 .,/-½¼¾⅛⅜⅝⅞⅓⅔")
_WAYS = ("gap ", "depth ")
"""Words before a reading that tell which way it was taken."""


def with_unit(text: str, unit: str) -> str:
    """Return what a field means: a number without a unit takes the unit shown beside it.

    Parameters
    ----------
    text : str
        As typed.
    unit : str
        The unit the field shows; empty for none.

    Examples
    --------
    >>> with_unit("84", "cm"), with_unit("31 1/2", "in"), with_unit("33 in", "cm"), with_unit("", "cm")
    ('84 cm', '31 1/2 in', '33 in', '')
    >>> with_unit("eighty", "cm"), with_unit("gap 20", "cm")
    ('eighty', 'gap 20 cm')
    """
    stripped = text.strip()
    number = next((stripped[len(way) :] for way in _WAYS if stripped.lower().startswith(way)), stripped)
    if unit and any(sign.isnumeric() for sign in number) and set(number.lstrip("><=~+-")) <= _BARE:
        return f"{stripped} {unit}"
    return stripped


class FieldText(Picture):
    """Words above or below what is typed."""

    def __init__(self, text: str, role: str, *, classes: str) -> None:
        super().__init__(classes=classes)
        self.words = text
        """What it says."""
        self.role = role
        """Role of the words."""

    def say(self, text: str, role: str) -> None:
        """Show other words."""
        self.words, self.role = text, role
        self.refresh(layout=True)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words, wrapped."""
        return paragraph(self.words, width, self.role)


class FieldUnit(Picture):
    """The unit that a bare number takes."""

    def __init__(self, unit: str) -> None:
        super().__init__(classes="field-unit")
        self.unit = unit
        """Which."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the unit."""
        return [[Span(f"{self.unit} ".rjust(9), "dim")]]


class FieldInput(Input):
    """The one line typed into. Its place does not depend on what stands in it, so a key lays nothing out anew."""

    virtual_size: Reactive[Size] = Reactive(Size(0, 0), layout=False)
    """Size of the text, longer than the field when it scrolls."""
    is_free = True
    """Whether a question mark is taken as it is, not as a wish for help."""
    offered = ""
    """What the form put there: the first key typed takes its place, as nobody typed it."""

    def on_focus(self) -> None:
        """Mark what the form offered, so that typing takes its place; what somebody typed is only gone on with."""
        if self.value and self.value == self.offered:
            self.select_all()

    def validate_value(self, value: str) -> str:
        """Return the text with what would steer the terminal written as signs: a note may come from a file."""
        return value if value.isprintable() else printable(value)

    def on_key(self, event: events.Key) -> None:
        """Ask for help where a question mark can mean nothing else."""
        if event.key == "question_mark" and not self.is_free:
            event.stop()
            event.prevent_default()
            self.post_message(HelpAsked())


class TypedField(Vertical):
    """A field that is typed."""

    def __init__(self, field: Field, typed: str | None = None) -> None:
        super().__init__(classes="field")
        self.field = field
        """What it asks."""
        # Both are there from the start: a quick hand asks for them before the screen has laid them out.
        self.input = FieldInput(
            field.value if typed is None else typed,
            compact=True,
            select_on_focus=False,
            classes="field-input",
        )
        """The widget typed into."""
        self._explain = FieldText(field.explain, "dim", classes="field-explain")

    def compose(self) -> ComposeResult:
        """Yield label, text with unit, explanation."""
        yield FieldText(self.field.label, "strong", classes="field-label")
        with Horizontal(classes="field-line"):
            yield self.input
            if self.field.unit:
                yield FieldUnit(self.field.unit)
        yield self._explain

    def on_mount(self) -> None:
        """Keep the cursor still."""
        self.input.cursor_blink = False
        self.input.is_free = self.field.is_free
        self.input.offered = self.field.value

    @property
    def typed(self) -> str:
        """Exactly what was typed."""
        return self.input.value

    @property
    def value(self) -> str:
        """What was typed, with the unit shown if it has none of its own."""
        return with_unit(self.typed, self.field.unit)

    def take(self, text: str) -> None:
        """Put `text` in place of what stands there."""
        self.input.value = text

    def ask_anew(self, field: Field) -> None:
        """Ask the same in another unit; what the form offered gives way, what was typed stays."""
        was, self.field = self.field, field
        self.input.offered = field.value
        for shown in self.query(FieldUnit):
            shown.unit = field.unit
            shown.redraw()
        if not self.is_wrong:
            self._explain.say(field.explain, "dim")
        if self.typed == was.value:
            self.take(field.value)

    @property
    def is_wrong(self) -> bool:
        """Whether something is wrong with it."""
        return self.has_class("-wrong")

    def complain(self, sentence: str | None) -> None:
        """Show what is wrong in place of the explanation; None brings the explanation back."""
        if sentence is None:
            if self._explain.words != self.field.explain:
                self._explain.say(self.field.explain, "dim")
        else:
            self._explain.say(f"! {sentence}", "warn")
        self.set_class(sentence is not None, "-wrong")

    def focus_field(self) -> None:
        """Put the cursor into the text."""
        self.input.focus(scroll_visible=False)

    @on(Input.Changed)
    def _typed_into(self, event: Input.Changed) -> None:
        event.stop()
        self.complain(None)
        self.post_message(FieldChanged(self.field.name, self.value))


class ChoiceField(Picture, can_focus=True):
    """A field with a few answers; left and right, or a click, choose."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "choose(-1)", "previous answer", show=False, id="choice-previous"),
        Binding("right,space", "choose(1)", "next answer", show=False, id="choice-next"),
    ]

    def __init__(self, field: Field, typed: str | None = None) -> None:
        super().__init__(classes="field choice")
        self.field = field
        """What it asks."""
        values = [choice.value for choice in field.choices]
        first = typed if typed in values else field.value
        self._chosen = values.index(first) if first in values else 0
        self._complaint: str | None = None
        self._places: list[tuple[int, int, int, int]] = []

    @property
    def typed(self) -> str:
        """The answer chosen."""
        return self.field.choices[self._chosen].value if self.field.choices else ""

    @property
    def value(self) -> str:
        """The answer chosen."""
        return self.typed

    def take(self, text: str, *, quietly: bool = False) -> None:
        """Choose the answer `text`, if it is one; `quietly` without telling anybody."""
        for number, choice in enumerate(self.field.choices):
            if choice.value == text:
                if quietly:
                    self._chosen = number
                    self.redraw()
                else:
                    self._choose(number)

    def offer(self, choices: tuple[Choice, ...]) -> None:
        """Offer other answers; the one chosen stays if it is among them."""
        if choices == self.field.choices:
            return
        kept = self.typed
        self.field = replace(self.field, choices=choices)
        values = [choice.value for choice in choices]
        self._chosen = values.index(kept) if kept in values else 0
        self.refresh(layout=True)
        self.redraw()

    @property
    def is_wrong(self) -> bool:
        """Whether something is wrong with it."""
        return self._complaint is not None

    def complain(self, sentence: str | None) -> None:
        """Show what is wrong in place of the explanation; None brings the explanation back."""
        if sentence != self._complaint:
            self._complaint = sentence
            self.refresh(layout=True)
            self.redraw()

    def focus_field(self) -> None:
        """Give the choice the focus."""
        self.focus(scroll_visible=False)

    def draw(self, width: int, height: int) -> list[Row]:
        """Return label, answers and explanation."""
        rows: list[Row] = paragraph(self.field.label, width, "strong")
        line: Row = []
        used = 0
        self._places = []
        for number, choice in enumerate(self.field.choices):
            chosen = number == self._chosen
            text = f"[{choice.words}]" if chosen else f" {choice.words} "
            if used and used + len(text) > width:
                rows.append(line)
                line, used = [], 0
            role = ("cursor" if self.has_focus else "strong") if chosen else "dim"
            line.append(Span(text, role))
            self._places.append((len(rows), used, used + len(text), number))
            used += len(text)
        rows.append(line)
        if self._complaint:
            return rows + paragraph(f"! {self._complaint}", width, "warn")
        return rows + paragraph(self.field.explain, width, "dim")

    def action_choose(self, step: int) -> None:
        """Go to another answer."""
        if self.field.choices:
            self._choose((self._chosen + step) % len(self.field.choices))

    def _choose(self, number: int) -> None:
        self._chosen = number
        self._complaint = None
        self.redraw()
        self.post_message(FieldChanged(self.field.name, self.value))

    def on_focus(self) -> None:
        """Show where the focus is."""
        self.redraw()

    def on_blur(self) -> None:
        """Show that the focus has gone."""
        self.redraw()

    def on_click(self, event: events.Click) -> None:
        """Choose the answer under the pointer."""
        for line, start, end, number in self._places:
            if line == event.y and start <= event.x < end:
                self._choose(number)
                event.stop()


AnyField = TypedField | ChoiceField


def field_widget(field: Field, typed: str | None = None) -> AnyField:
    """Return the widget that asks `field`, with what was typed earlier."""
    return ChoiceField(field, typed) if field.choices else TypedField(field, typed)
