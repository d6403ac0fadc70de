"""What a command of the command line is: its name, its help, its arguments and the function that does it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tankdash.cli.call import Call

if TYPE_CHECKING:
    import argparse

FINE, FOUND_SOMETHING, BAD_INPUT = 0, 1, 2
"""Exit codes; a command that may end with FOUND_SOMETHING says when in `found`."""


@dataclass(frozen=True)
class Command:
    """One command. Adding one is writing `run` and naming it in its family's `COMMANDS`."""

    name: str
    summary: str
    """One line for the list of commands."""
    details: str
    """What `tankdash COMMAND --help` says below its usage."""
    examples: tuple[str, ...]
    """Lines as typed, with what they do after two spaces."""
    run: Callable[[Call], int]
    """Does it and returns the exit code."""
    arguments: Callable[[argparse.ArgumentParser], None] = lambda parser: None
    """Adds what it takes."""
    found: str = ""
    """When it ends with FOUND_SOMETHING; empty where it never does."""
    is_recording: bool = False
    """Whether it writes to the journal: it takes `--at`, `--fold` and `--note`."""
