"""All commands, in the order in which the help lists them."""

from __future__ import annotations

from tankdash.cli import (
    checking,
    exchanging,
    looking,
    new_site,
    planning,
    recording,
    sizing,
    starting,
    stick_table,
    storming,
    surveying,
)
from tankdash.cli.command import Command

COMMANDS: tuple[Command, ...] = (
    *checking.COMMANDS,
    *looking.COMMANDS,
    *planning.COMMANDS,
    *storming.COMMANDS,
    *stick_table.COMMANDS,
    *sizing.COMMANDS,
    *surveying.COMMANDS,
    *recording.COMMANDS,
    *exchanging.COMMANDS,
    *new_site.COMMANDS,
    *starting.COMMANDS,
)
