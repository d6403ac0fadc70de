"""One call of the program: what was typed, the garden it is about, the time, and where the answer goes."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from tankdash.cli.text import harmless_json, shown
from tankdash.cli.typed import UsageError
from tankdash.cli.where_and_when import complete_time

if TYPE_CHECKING:
    import argparse
    from types import SimpleNamespace

    from tankdash.journal.store import Journal
    from tankdash.keeping.desk import Desk
    from tankdash.site.model import Site

NO_SITE = (
    "No site file was found: name it with --site FILE or TANKDASH_SITE, or begin with `tankdash demo` or"
    " `tankdash new tankdash.yaml`."
)


def find_site(named: str | None) -> Path | None:
    """Return the site file: the one named, TANKDASH_SITE, ./tankdash.yaml, or the one in the config folder."""
    if named:
        return Path(named)
    if from_environment := os.environ.get("TANKDASH_SITE"):
        return Path(from_environment)
    here = Path("tankdash.yaml")
    if here.exists():
        return here
    from platformdirs import user_config_path

    own = user_config_path("tankdash", appauthor=False) / "tankdash.yaml"
    return own if own.exists() else None


class Call:
    """What a command is given. The site and the journal are opened when first asked for."""

    def __init__(self, args: argparse.Namespace | SimpleNamespace, out: TextIO | None = None) -> None:
        self.args: Any = args
        """What was typed."""
        self.out = out if out is not None else sys.stdout
        """Where the answer goes."""

    # The garden

    @cached_property
    def site_path(self) -> Path:
        """The site file."""
        path = find_site(self.args.site)
        if path is None:
            raise UsageError(NO_SITE)
        return path

    @cached_property
    def journal_path(self) -> Path:
        """The journal's file."""
        from tankdash.journal.store import default_journal_path

        return Path(self.args.journal) if self.args.journal else default_journal_path(self.site_path)

    @property
    def own_files(self) -> tuple[Path, ...]:
        """The site file, the journal, and what SQLite keeps beside it: nothing is ever put in their places."""
        return (self.site_path, *self.journal_files)

    @property
    def journal_files(self) -> tuple[Path, ...]:
        """The files of the journal, none when it is not known which garden is meant."""
        from tankdash.journal.place import files_of_journal

        if not self.args.journal and find_site(self.args.site) is None:
            return ()
        return (self.journal_path, *files_of_journal(self.journal_path))

    @cached_property
    def site(self) -> Site:
        """The site, read and checked."""
        from tankdash.site import load

        return load(self.site_path)

    @cached_property
    def tank_names(self) -> set[str]:
        """The ids and the labels of the tanks."""
        return {name for key, tank in self.site.tanks.items() for name in (key, tank.label) if name}

    @cached_property
    def journal(self) -> Journal:
        """The journal."""
        from tankdash.journal.store import Journal

        return Journal.open(self.journal_path)

    @cached_property
    def desk(self) -> Desk:
        """Site and journal together."""
        from tankdash.keeping.desk import Desk

        return Desk(self.site, self.journal)

    def close(self) -> None:
        """Close what was opened."""
        if "journal" in self.__dict__:
            self.journal.close()

    # The time

    @cached_property
    def now(self) -> datetime:
        """The present, or what `--now` says instead."""
        clock = datetime.now(UTC)
        if self.args.now is None:
            return clock.astimezone(self.site.zone)
        from tankdash.keeping.when import parse_time

        return parse_time(self.args.now, self.site.zone, clock, self.args.fold)

    @property
    def pinned(self) -> datetime | None:
        """The time of `--now`, None when the clock runs; the site is read only where the words need its zone."""
        text: str | None = self.args.now
        if text is None:
            return None
        complete = complete_time(text) if self.args.fold is None else None
        return self.now if complete is None else complete

    @cached_property
    def at(self) -> datetime:
        """The time the command is about: `--at`, else now."""
        text = getattr(self.args, "at", None)
        if text is None:
            return self.now
        from tankdash.keeping.when import parse_time

        return parse_time(text, self.site.zone, self.now, self.args.fold)

    # The answer

    @property
    def wants_json(self) -> bool:
        """Whether `--json` was given."""
        return bool(self.args.json)

    def say(self, *lines: str) -> None:
        """Print lines of text; what a terminal would act on is shown instead."""
        for line in lines:
            self.out.write(shown(line) + "\n")

    def say_all(self, lines: Iterable[str]) -> None:
        """Print several lines of text."""
        self.say(*lines)

    def give(self, answer: dict[str, Any]) -> None:
        """Print the answer as JSON."""
        import json

        text = json.dumps(answer, ensure_ascii=not self._can_carry_everything(), indent=1, allow_nan=False)
        self.out.write(harmless_json(text) + "\n")

    def _can_carry_everything(self) -> bool:
        return (self.out.encoding or "").lower().replace("-", "") == "utf8"
