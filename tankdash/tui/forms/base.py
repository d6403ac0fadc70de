"""What every form for the journal has in common.

A form knows nothing of the file: it turns fields into a record with the keeping floor's own reading of words, shows
what that would do, and says so in a message; whoever holds the journal writes it down.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from textual import on, work
from textual.app import ComposeResult
from textual.message import Message
from textual.worker import get_current_worker

from tankdash.drawing.canvas import Row, Span
from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.records import EntryError, check_time
from tankdash.keeping.when import DoubledTime, TimeError, parse_time
from tankdash.tui.forms.asking import Asking, Values
from tankdash.tui.forms.effects import change_sentences, imagined
from tankdash.tui.forms.fields import asked
from tankdash.tui.forms.messages import FormLeft, FormSaved
from tankdash.tui.frame import FramedApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.state import Shown
from tankdash.tui.trouble import sentence_of, speakable
from tankdash.tui.understood import Understood
from tankdash.tui.widgets.field import Choice, Field
from tankdash.tui.widgets.sideview import SideView

__all__ = ["Effect", "Form", "Values"]


@dataclass(frozen=True)
class Effect:
    """What saving would do, for the eyes."""

    shown: Shown | None = None
    """The state with it in; None when what is typed means nothing yet."""
    words: tuple[str, ...] = ()
    """What changes, a sentence each."""


class Form(Asking):
    """A form; one subclass for each kind of entry."""

    class Previewed(Message):
        """The effect of what is typed has been worked out."""

        def __init__(self, values: dict[str, str], effect: Effect) -> None:
            super().__init__()
            self.values = values
            """The values it was worked out for."""
            self.effect = effect
            """What they would do."""

    def __init__(self, keeper: Keeper, shown: Shown, draft: Values | None = None) -> None:
        super().__init__(draft)
        self.keeper = keeper
        """Lends the desk."""
        self.shown = shown
        """The state the form was opened on."""
        self._is_awaited = False

    # What a kind of form says of itself.

    @abstractmethod
    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return what the form asks."""

    @abstractmethod
    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the record and the words typed.

        Raises
        ------
        EntryError
            If a field cannot be read; it names the field.
        """

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return what saving would change, in sentences."""
        return change_sentences(before, after)

    def caution_words(self) -> str:
        """Return what can hurt someone in doing this, to be said in place; empty where nothing can."""
        return ""

    def compose_picture(self) -> ComposeResult:
        """Yield the side view."""
        app = self.app
        ascii_only = isinstance(app, FramedApp) and app.ascii_only
        view = SideView(ascii_only=ascii_only, ink=app.no_color, classes="form-picture")
        view.set_reactive(SideView.shown, self.shown)
        yield view

    def show_picture(self, effect: Effect) -> None:
        """Show the levelled result, with the surfaces of before as ghosts; without one, what stood before."""
        before = None if effect.shown is None else self.shown
        self.query_one(SideView).imagine(effect.shown or self.shown, before)

    # What is typed.

    def ask(
        self,
        want: str,
        *,
        name: str | None = None,
        label: str | None = None,
        value: str = "",
        unit: str = "",
        choices: Iterable[Choice] | None = None,
        **words: str,
    ) -> Field:
        """Return a field of this form as the table of wants tells of it; see `fields.asked`."""
        units = self.shown.site.units
        return asked(
            self.NAME, want, units, name=name, label=label, value=value, unit=unit, choices=choices, **words
        )

    def when_and_note(self) -> tuple[Field, Field]:
        """Return the two fields that most forms end with."""
        return self.ask("at", value="now"), self.ask("note")

    def asked(self) -> Sequence[Field]:
        """Return the fields."""
        return self.fields(self.shown)

    def title_row(self) -> Row:
        """Return the title and the garden's name."""
        return [Span(f" {self.TITLE_WORDS}", "title"), Span(f"   {self.shown.site.name}", "dim")]

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

    def preview(self) -> None:
        """Work out what is typed, away from the keyboard's thread, as soon as the key itself can be seen."""
        if not self._is_awaited:
            self._is_awaited = True
            self.call_after_refresh(self._begin_to_work_out)

    def on_mount(self) -> None:
        """Have the journal walked before the first key, which then need not wait for it."""
        self._get_ready(self.shown.now)

    @work(thread=True, group="ready", description="ready")
    def _get_ready(self, now: datetime) -> None:
        with self.keeper.desk() as desk:
            desk.try_out(now)

    def _begin_to_work_out(self) -> None:
        self._is_awaited = False
        self._work_out(self.values, self.shown)

    # Without words of its own a worker is described by all it is given, the whole journal spelled out.
    @work(thread=True, exclusive=True, group="preview", description="preview")
    def _work_out(self, values: dict[str, str], shown: Shown) -> None:
        worker = get_current_worker()
        try:
            understood = self.read(values)
            with self.keeper.desk() as desk:
                if worker.is_cancelled:
                    return  # another key came while the desk was lent out
                after = imagined(desk, shown, understood)
            effect = Effect(after, self.effect_words(shown, after))
        except EntryError:
            effect = Effect()
        if not worker.is_cancelled:
            self.post_message(self.Previewed(values, effect))

    @on(Previewed)
    def _previewed(self, event: Previewed) -> None:
        event.stop()
        if event.values == self.values:
            self.show_picture(event.effect)
            if event.effect.words or not self.draft:
                caution = self.caution_words()
                self.say((*event.effect.words, f"! {caution}") if caution else event.effect.words)

    # Keys.

    def action_save(self) -> None:
        """Read the fields; tell what is wrong under the field, or hand the record on."""
        if self.is_saving:
            return
        try:
            understood = self.read(self.values)
        except EntryError as error:
            self.complain(error)
            return
        except speakable() as error:
            self.trouble(sentence_of(error))
            return
        self.is_saving = True
        self.app.post_message(FormSaved(self, understood))

    def action_leave(self) -> None:
        """Leave; the draft is kept."""
        self.app.post_message(FormLeft(self, self.typed()))

    def refreshed(self, shown: Shown) -> None:
        """Take a newer state, when the journal or the site changed under the open form."""
        self.shown = replace(shown, notice=None)
        self.preview()
