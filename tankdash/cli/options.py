"""Options that several commands share, and values that may be typed unquoted."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

MARK = "\ue000"
"""Stands before a value that begins with a minus, so that it is not taken for an option; taken off again."""


class Together(argparse.Action):
    """Takes the words of one value that was typed unquoted, such as 31 1/2 in, as one text."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Keep them, put together again."""
        setattr(namespace, self.dest, " ".join(str(word).removeprefix(MARK) for word in values or ()))


class EachTogether(Together):
    """The same for an option that may be given several times: a text each."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Keep them beside the earlier ones."""
        earlier = getattr(namespace, self.dest) or []
        super().__call__(parser, namespace, values, option_string)
        setattr(namespace, self.dest, [*earlier, getattr(namespace, self.dest)])


def add_at(
    parser: argparse.ArgumentParser | argparse._ArgumentGroup, what: str = "the time asked about"
) -> None:
    """Add the option that asks about another time than now."""
    parser.add_argument("--at", metavar="TIME", help=f"{what}, if not now, such as 'yesterday 18:00'")
