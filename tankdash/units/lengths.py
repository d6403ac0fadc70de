"""Lengths, metric and by the tape: feet and inches, and ranges of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from tankdash.units.digits import NUMBER, ONE, QuantityError, exact, finite, refusal, scaled, tidy, unsigned
from tankdash.units.factors import FOOT, INCH, LENGTHS, Units

FEET_AND_INCHES = re.compile(
    rf"(?P<feet>\d+) ?(?:'|ft\.?|foot|feet)(?: ?|-| - )(?P<inches>{NUMBER}) ?(?:\"|in\.?|inch|inches)",
    re.ASCII | re.IGNORECASE,
)
"""Whole feet and inches; a hyphen parts them only when it cannot be a minus."""
_FEET_WITHOUT_MARK = re.compile(
    rf"\d+ ?(?:'|ft\.?|foot|feet)(?: ?|-| - )(?:{NUMBER})", re.ASCII | re.IGNORECASE
)
_DASHED_TAPE = re.compile(r"(?P<feet>\d+)-(?P<inches>\d+)-(?P<fraction>\d+/\d+)", re.ASCII)


def length_sample(units: Units) -> str:
    """Return two well-written lengths for a refusal."""
    return "84 cm or 1.2 m" if units == "metric" else "31 1/2 in or 3' 4 1/2\""


def plain_length(text: str, write: str) -> Fraction:
    """Return a length without a sign, exactly, [m]."""
    match = FEET_AND_INCHES.fullmatch(text)
    if match is None and (match := _DASHED_TAPE.fullmatch(text)):
        inches = exact(f"{match['inches']} {match['fraction']}", text)
    elif match is not None:
        inches = exact(match["inches"], text)
    else:
        if _FEET_WITHOUT_MARK.fullmatch(text):
            raise refusal(text, "has inches without their mark", f'{text}"')
        return scaled(text, LENGTHS, "length", write)
    if inches >= 12:
        raise refusal(text, "has 12 inches or more after the feet", "fewer than 12 inches, or inches alone")
    return int(match["feet"]) * FOOT + inches * INCH


def parse_length(text: object, units: Units = "metric", *, negative: bool = False) -> float:
    r"""Return a length in metres from metric or tape notation.

    Parameters
    ----------
    text : str or 0
        `84 cm`, `31 1/2 in`, `3' 4 1/2"`, `4'2-1/4"`, `7-0-1/2` (feet, inches, fraction).
    units : Units
        Chooses the example in the refusal.
    negative : bool
        Whether a minus makes sense here, as for a base below the datum.

    Returns
    -------
    float
        [m].

    Raises
    ------
    QuantityError
        If any part of it is not understood.

    Examples
    --------
    >>> parse_length('3\' 4 1/2"', "us")
    1.0287
    >>> parse_length("-4cm", negative=True)
    -0.04
    """
    write = length_sample(units)
    plain = tidy(text, write)
    sign = 1
    if negative and plain[0] in "+-":
        sign, plain = (-1 if plain[0] == "-" else 1), plain[1:].strip()
        if "-" in re.sub(r"(?<=\d)-(?=\d+ ?/)", "", plain):
            raise refusal(
                text, "has two signs", f"one minus before the whole, such as -{write.split(' or ')[0]}"
            )
    value = finite(sign * plain_length(unsigned(plain, write, "this height or length"), write), text, write)
    return value + 0.0


def ends(text: str, write: str, whole: Callable[[str, str], Fraction]) -> tuple[Fraction, Fraction]:
    """Return both ends of `60-90 mm`, `60 mm to 90 mm` or of a single quantity."""
    try:
        single = whole(text, write)
    except QuantityError as refused:
        first_refusal = refused
    else:
        return single, single
    if re.match(r"\d+-\d+-\d+ ?/", text):
        raise refusal(text, "can be read as feet and inches or as a range", "3' 4 1/2\" or 3 to 4 1/2 in")
    found = set()
    for mark in re.finditer(r" ?- ?| to ", text):
        left, right = text[: mark.start()], text[mark.end() :]
        try:
            high = whole(right, write)
            match = ONE.fullmatch(left)
            shared = ONE.fullmatch(right)
            if match and not match["unit"] and shared and shared["unit"]:
                left = f"{left} {shared['unit']}"
            found.add((whole(left, write), high))
        except QuantityError:
            continue
    if not found:
        raise first_refusal
    if len(found) > 1:
        raise refusal(text, "can be read two ways", "both ends with their unit and `to` between them")
    low, high = found.pop()
    if low > high:
        raise refusal(text, "runs backwards", "the smaller end of a range first, such as 60-90 mm")
    return low, high


def parse_length_range(text: object, units: Units = "metric") -> tuple[float, float]:
    """Return both ends of a length or of a range of lengths, low <= high, [m].

    Examples
    --------
    >>> parse_length_range("20-30 cm", "metric")
    (0.2, 0.3)
    >>> parse_length_range("2-1/4 in", "us")
    (0.05715, 0.05715)
    """
    write = f"{length_sample(units)}, or a range such as {'20-30 cm' if units == 'metric' else '8 to 12 in'}"
    low, high = ends(unsigned(tidy(text, write), write, "a reading"), write, plain_length)
    return finite(low, text, write), finite(high, text, write)
