"""Words as typed at the command line: what belongs to which tank, held against the site file, and whole numbers."""

from __future__ import annotations


class UsageError(Exception):
    """The words typed do not fit; the message is a sentence that says what to write."""


def pairs(tokens: list[str], names: set[str], what: str) -> dict[str, str]:
    """Return readings by tank from `TANK READING [TANK READING ...]`, readings typed unquoted put together.

    Raises
    ------
    UsageError
        If it does not begin with a name, a name has no reading, or one stands twice.

    Examples
    --------
    >>> pairs(["north", "31", "1/2", "in", "south", "60cm"], {"north", "south"}, "reading")
    {'north': '31 1/2 in', 'south': '60cm'}
    """
    found: dict[str, list[str]] = {}
    current: list[str] | None = None
    for token in tokens:
        if token in names and (current is None or current):
            if token in found:
                raise UsageError(f"{token} is given twice: give each tank once.")
            current = found[token] = []
        elif current is None:
            raise UsageError(unknown_name(token, names, "tank"))
        else:
            current.append(token)
    for name, parts in found.items():
        if not parts:
            raise UsageError(f"{name} has no {what}: write it as {name} 60cm.")
    # An unknown name in second place ends up in the reading before it; say so instead of refusing the reading.
    for parts in found.values():
        for part in parts[1:]:
            if part[:1].isalpha() and len(part) > 2 and close_to(part, names):
                raise UsageError(unknown_name(part, names, "tank"))
    return {name: " ".join(parts) for name, parts in found.items()}


def given_pairs(given: list[str], option: str, sample: str, names: set[str]) -> dict[str, str]:
    """Return `NAME=VALUE` arguments as pairs; a value typed unquoted is put together again."""
    tokens: list[str] = []
    for word in given:
        name, sign, value = word.partition("=")
        if sign and name.strip():
            tokens += [name.strip(), *([value.strip()] if value.strip() else [])]
        elif tokens:
            tokens.append(word)
        else:
            raise UsageError(f"{option} needs a name and a value: write it as {option} {sample}.")
    return pairs(tokens, names, "value")


def close_to(word: str, names: set[str]) -> str | None:
    """Return the name most like the word, None when none is."""
    from difflib import get_close_matches

    close = get_close_matches(word.lower(), sorted(names), n=1, cutoff=0.6)
    return close[0] if close else None


def unknown_name(word: str, names: set[str], what: str) -> str:
    """Return the sentence for a name that is not in the site file."""
    close = close_to(word, names)
    hint = f"did you mean {close}?" if close else f"there are {', '.join(sorted(names))}."
    return f"There is no {what} {word!r} in the site file: {hint}"


def whole_number(text: str, option: str, least: int, most: int) -> int:
    """Return a whole number as typed for an option; `11 days` is understood too."""
    plain = text.strip().lower().removesuffix("days").removesuffix("day").strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) < 9 and least <= int(plain) <= most):
        raise UsageError(f"{option} needs a whole number from {least} to {most}, not {text!r}.")
    return int(plain)
