"""The `tankdash` command: reads what was typed, lets the command do it, and turns every trouble into a sentence."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from tankdash.cli.call import NO_SITE, Call, find_site
from tankdash.cli.command import BAD_INPUT, FINE
from tankdash.cli.door import open_screen
from tankdash.cli.text import shown
from tankdash.cli.typed import UsageError
from tankdash.cli.where_and_when import where_and_when

LONGEST_LINE = 1200
"""Characters of one complaint: more than any path and sentence need."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code; nothing but sentences reaches the user."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        code = _run(list(sys.argv[1:] if argv is None else argv))
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read the answer has seen enough. Python would complain once more while closing stdout.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except KeyboardInterrupt:
        return 130
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else FINE if ended.code is None else BAD_INPUT
    except Exception as problem:
        return _trouble(problem)


def _run(argv: list[str]) -> int:
    for word in argv:
        try:
            os.fsencode(word)
        except UnicodeEncodeError:
            half = ascii(word)
            raise UsageError(
                f"{half} holds half a character, which no file can keep: type it again."
            ) from None
    only_where = where_and_when(argv)
    if only_where is not None:
        return _open_screen(Call(only_where))
    from tankdash.cli.parser import read_arguments

    parsed = read_arguments(argv)
    call = Call(parsed.args)
    try:
        return _open_screen(call) if parsed.command is None else parsed.command.run(call)
    finally:
        call.close()


def _open_screen(call: Call) -> int:
    """Open the screen on the site that is found, or on none."""
    if call.wants_json:
        raise UsageError("--json needs a command, such as `tankdash levels --json`.")
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("The screen needs a terminal: use a command here, such as `tankdash levels`.")
    path = find_site(call.args.site)
    if path is not None and not path.exists():
        raise UsageError(f"{path} is not there: {NO_SITE}")
    journal = Path(call.args.journal) if call.args.journal else None
    now = None if path is None else call.pinned
    return open_screen(path, journal, now)


def _trouble(problem: Exception) -> int:
    """Print what went wrong on stderr, one line for each thing, and return the exit code."""
    for line in _sentences(problem):
        with suppress(OSError, ValueError):
            sys.stderr.write(line + "\n")
    return BAD_INPUT


_SPOKEN: tuple[tuple[str, str], ...] = (
    ("tankdash.cli.typed", "UsageError"),
    ("tankdash.keeping.entering.naming", "EntryError"),
    ("tankdash.keeping.chores.due", "ChoreError"),
    ("tankdash.keeping.when", "TimeError"),
    ("tankdash.units", "QuantityError"),
    ("tankdash.journal.trouble", "JournalError"),
    ("tankdash.journal.lines", "SheetError"),
    ("tankdash.keeping.demo", "DemoError"),
)
"""Errors whose message is a sentence for the user."""


def _is_a(problem: Exception, module: str, name: str) -> bool:
    """Return whether the problem is of that class; a module that was never imported cannot have raised it."""
    raised_by = getattr(sys.modules.get(module), name, None)
    return raised_by is not None and isinstance(problem, raised_by)


def _sentences(problem: Exception) -> list[str]:
    """Return what to tell, one line for each thing."""
    if _is_a(problem, "tankdash.site.problems", "SiteError"):
        return [_bounded(shown(line)) for line in str(problem).split("\n")]
    return [_bounded(f"tankdash: {shown(_sentence(problem))}")]


def _bounded(line: str) -> str:
    """Return a line that quotes something endless with its middle left out: the advice at its end stays."""
    if len(line) <= LONGEST_LINE:
        return line
    half = LONGEST_LINE // 2
    return f"{line[:half]} ... {line[-half:]}"


def _sentence(problem: Exception) -> str:
    if any(_is_a(problem, module, name) for module, name in _SPOKEN):
        return str(problem)
    if isinstance(problem, OSError):
        place = f"{problem.filename}: " if problem.filename else ""
        return f"{place}{problem.strerror or problem}."
    kind = type(problem).__name__
    return (
        f"Something went wrong inside tankdash ({kind}: {problem}). Please report it with the line you typed;"
        " what was recorded before is safe."
    ).replace("\n", " ")
