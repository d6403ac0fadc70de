"""All commands, in the order in which the help lists them."""

from __future__ import annotations

from tankdash.cli import (
    checking,
    demo,
    exchanging,
    looking,
    new_site,
    recording,
    sizing,
    stick_table,
    storming,
    supply,
    surveying,
)
from tankdash.cli.command import Command

COMMANDS: tuple[Command, ...] = (
    *checking.COMMANDS,
    *looking.COMMANDS,
    *supply.COMMANDS,
    *storming.COMMANDS,
    *stick_table.COMMANDS,
    *sizing.COMMANDS,
    *surveying.COMMANDS,
    *recording.COMMANDS,
    *exchanging.COMMANDS,
    *new_site.COMMANDS,
    *demo.COMMANDS,
)
