"""Errors of the floors below, as sentences for a notice."""

from __future__ import annotations


class BeginningError(Exception):
    """A garden could not be begun; the message says what to do."""


def speakable() -> tuple[type[Exception], ...]:
    """Return the errors that are told to the person; all others are faults of the program."""
    from tankdash.journal.trouble import JournalError
    from tankdash.keeping.entering.naming import EntryError
    from tankdash.site.problems import SiteError
    from tankdash.site.rewriting import RewriteError

    return (SiteError, JournalError, EntryError, BeginningError, RewriteError)


def sentence_of(error: Exception, *, all_of_it: bool = False) -> str:
    """Return what to tell.

    Parameters
    ----------
    error : Exception
        One of `speakable`.
    all_of_it : bool, optional
        Whether to list every problem of a site file, one a line, instead of the first.
    """
    problems = getattr(error, "problems", None)
    if not problems:
        return str(error)
    if all_of_it:
        return "\n".join(str(problem) for problem in problems)
    more = f" (and {len(problems) - 1} more: run tankdash check)" if len(problems) > 1 else ""
    return f"The site file has a problem, so the last good state stays. {problems[0]}{more}"
