"""Pages to print, written whole or not at all, and over an earlier one only when told."""

from __future__ import annotations

import argparse

from tankdash.cli.call import Call


def add_overwrite(parser: argparse.ArgumentParser) -> None:
    """Add the option that lets a page replace an earlier one."""
    parser.add_argument("--overwrite", action="store_true", help="replace the file of an earlier call")


def write_page(call: Call, name: str, page: str) -> None:
    """Write an HTML page whole or not at all, over an earlier one only when told."""
    from pathlib import Path

    from tankdash.journal.placing import free_to_write, put_in_place
    from tankdash.planning.paper import PAGE_START

    path, overwrite = Path(name), call.args.overwrite
    free_to_write(
        path, PAGE_START, "page of an earlier call", "stick.html", overwrite=overwrite, own=call.own_files
    )
    put_in_place(path, page, overwrite=overwrite)
