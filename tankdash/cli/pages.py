"""Pages to print, written whole or not at all, and over an earlier one only when told."""

from __future__ import annotations

import argparse

from tankdash.cli.call import Call
from tankdash.cli.command import UsageError


def add_overwrite(parser: argparse.ArgumentParser) -> None:
    """Add the option that lets a page replace an earlier one."""
    parser.add_argument("--overwrite", action="store_true", help="replace the file of an earlier call")


def write_page(call: Call, name: str, page: str) -> None:
    """Write an HTML page whole or not at all, over an earlier one only when told."""
    from pathlib import Path

    from tankdash.journal.exchange import put_in_place

    path = Path(name)
    if path.is_dir():
        raise UsageError(f"{path} is a folder: name a file to write, such as stick.html.")
    if path.exists() and not call.args.overwrite:
        raise UsageError(f"{path} is there already: name another file, or say --overwrite.")
    if not path.parent.is_dir():
        raise UsageError(f"There is no folder {path.parent}: make it first, or name another file.")
    put_in_place(path, page)
