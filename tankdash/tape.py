"""Characters into exact numbers and lengths: fractions, decimal marks, feet and inches, ranges.

The lowest step of reading a quantity; the floors above use `tankdash.units`, which knows all quantities.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Literal

Units = Literal["metric", "us", "imperial"]
"""How a site shows results, and which gallon a bare `gal` is there."""

INCH = Fraction(254, 10_000)
"""Exact by definition, [m]."""
FOOT = 12 * INCH
"""[m]."""


def factors_by_name(names: Mapping[str, Fraction | int]) -> dict[str, Fraction]:
    """Return a factor for each of the names, which stand in groups parted by commas."""
    return {name.strip(): Fraction(factor) for group, factor in names.items() for name in group.split(",")}


LENGTHS = factors_by_name(
    {
        "mm, millimetre, millimetres, millimeter, millimeters": Fraction(1, 1000),
        "cm, centimetre, centimetres, centimeter, centimeters": Fraction(1, 100),
        "m, metre, metres, meter, meters": 1,
        'in, ", inch, inches': INCH,
        "ft, ', foot, feet": FOOT,
    }
)
"""Metres by unit word."""
_LARGEST = 10**9
"""Nothing in a garden reaches this in any SI unit used here; a larger figure is a slip."""
_LONGEST_TEXT = 80

_VULGAR = {
    sign: f"{above}/{below}"
    for signs, below in (("½", 2), ("⅓⅔", 3), ("¼_¾", 4), ("⅕⅖⅗⅘", 5), ("⅙___⅚", 6), ("⅛_⅜_⅝_⅞", 8))
    for above, sign in enumerate(signs, start=1)
    if sign != "_"
}
_PLAIN = str.maketrans(
    {
        **dict.fromkeys("’‘‛′ʹʼ`´", "'"),
        **dict.fromkeys("“”‟″ʺ", '"'),
        **dict.fromkeys("‐‑‒–—−", "-"),
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\t", " "),
        **dict.fromkeys("⁄∕", "/"),
        "×": "x",
        "≥": ">=",
    }
)

NUMBER = r"\d+(?: |-)\d+ ?/ ?\d+|\d+ ?/ ?\d+|\d+(?:[.,]\d+)?|[.,]\d+"
"""A mixed number, a fraction or a decimal number, as a pattern."""
ONE = re.compile(rf"(?P<number>{NUMBER})(?: ?(?P<unit>[A-Za-z'\"%°].*))?", re.ASCII)
"""One number and the unit word behind it."""
FEET_AND_INCHES = re.compile(
    rf"(?P<feet>\d+) ?(?:'|ft\.?|foot|feet)(?: ?|-| - )(?P<inches>{NUMBER}) ?(?:\"|in\.?|inch|inches)",
    re.ASCII | re.IGNORECASE,
)
"""Whole feet and inches; a hyphen parts them only when it cannot be a minus."""
_FEET_WITHOUT_MARK = re.compile(
    rf"\d+ ?(?:'|ft\.?|foot|feet)(?: ?|-| - )(?:{NUMBER})", re.ASCII | re.IGNORECASE
)
_DASHED_TAPE = re.compile(r"(?P<feet>\d+)-(?P<inches>\d+)-(?P<fraction>\d+/\d+)", re.ASCII)
_TWO_WAYS = re.compile(r"[1-9]\d{0,2},\d{3}", re.ASCII)


class QuantityError(ValueError):
    """A quantity that was not understood; its text is a sentence that says what to write instead."""


def shown(text: object) -> str:
    """Return `text` fit for a one-line sentence: short, with nothing a terminal would act on."""
    line = str(text)
    line = line if len(line) <= 40 else line[:37] + "..."
    return "'" + "".join(sign if sign.isprintable() else "?" for sign in line) + "'"


def refusal(text: object, why: str, write: str) -> QuantityError:
    """Return the error for `text`: what is the matter with it, and what to write instead."""
    return QuantityError(f"{shown(text)} {why}: write {write}")


def tidy(text: object, write: str) -> str:
    """Return what was typed with plain quotes, dashes, spaces and fractions, or refuse it."""
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise refusal(text, "is not a quantity", write)
    if isinstance(text, int) and abs(text) > _LARGEST:
        raise QuantityError(f"this figure is far too large: write {write}")
    text = str(text)
    if len(text) > _LONGEST_TEXT:
        raise refusal(text, "is too long to be a quantity", write)
    plain = text.translate(_PLAIN)
    for sign, fraction in _VULGAR.items():
        # A space on either side that touches a digit keeps `1½` from turning into eleven halves.
        plain = re.sub(rf"(?<=[0-9]){sign}", f" {fraction}", plain).replace(sign, fraction + " ")
    plain = re.sub(r"(?<=[A-Za-z])²", "2", plain)
    plain = re.sub(r"(?<=[A-Za-z])³", "3", plain)
    plain = re.sub(r" +", " ", plain).strip(" ").replace("''", '"')
    if not plain:
        raise QuantityError(f"nothing is written here: write {write}")
    return plain


def exact(digits: str, text: object) -> Fraction:
    """Return the exact value of a whole, decimal, fraction or mixed number."""
    if "/" in digits:
        head, _, below = digits.replace("-", " ").replace(" /", "/").replace("/ ", "/").rpartition("/")
        *whole, above = head.split(" ")
        if int(below) == 0:
            raise refusal(text, "has a fraction over zero", "a fraction such as 1/2")
        if whole and int(above) >= int(below):
            raise refusal(text, "has a fraction of one or more after a whole number", "one such as 3 1/4")
        return Fraction(int(above), int(below)) + (int(whole[0]) if whole else 0)
    if _TWO_WAYS.fullmatch(digits):
        raise refusal(
            text, "can be read two ways", f"{digits.replace(',', '.')} or {digits.replace(',', '')}"
        )
    return Fraction(digits.replace(",", "."))


def unit_word(word: str | None) -> str:
    """Return a unit word without dots, carets, double spaces and capitals."""
    plain = (word or "").replace(".", " ").replace("^", "").lower()
    return " ".join(plain.split()).replace("u s ", "us ")


def finite(value: Fraction, text: object, write: str) -> float:
    """Return `value` as the nearest float, or refuse it when it is beyond anything in a garden."""
    if abs(value) > _LARGEST:
        raise refusal(text, "is far too large", write)
    return float(value)


def number_and_unit(text: str, write: str) -> tuple[Fraction, str]:
    """Return the number and the unit word of a plain quantity without a sign."""
    match = ONE.fullmatch(text)
    if match is None:
        raise refusal(text, "is not understood", write)
    return exact(match["number"], text), match["unit"] or ""


def unknown_unit(unit: str, what: str) -> str:
    """Return what is the matter with a unit word that is not in the table."""
    if any(sign.isdigit() for sign in unit[:-1]):
        return "is only partly understood"
    return f"has no unit of {what} that is known here"


def scaled(text: str, factors: Mapping[str, Fraction], what: str, write: str) -> Fraction:
    """Return number times factor; a bare zero needs no unit."""
    value, word = number_and_unit(text, write)
    unit = unit_word(word)
    if not unit:
        if value == 0:
            return value
        raise refusal(text, "has no unit", write)
    if unit not in factors:
        raise refusal(text, unknown_unit(unit, what), write)
    return value * factors[unit]


def unsigned(text: str, write: str, what: str = "this") -> str:
    """Return `text` unless it has a sign or is nothing but one."""
    if not text:
        raise QuantityError(f"a sign stands alone: write {write}")
    if text[0] in "+-":
        raise refusal(text, f"has a sign, and {what} is never negative", write)
    return text


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
