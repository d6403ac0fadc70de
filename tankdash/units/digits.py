"""Characters into exact numbers and back: signs made plain, fractions, decimal marks, the unit word behind.

The lowest step of reading a quantity; whatever is not understood is refused with what to write instead.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

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


def trim(value: float, decimals: int) -> str:
    """Return `value` rounded, without trailing zeros and without a negative zero."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
