"""Files of past rain as people and programs keep them, and ways to spoil them with knowledge of what they are."""

from __future__ import annotations

import gzip
import random
from collections.abc import Callable
from datetime import date, timedelta

ODD = (
    "", " ", "-", "n/a", "nan", "NaN", "inf", "-inf", "1e308", "-1e308", "1e-308", "9" * 400, "0" * 5000, "1e400",
    "0", "-0", "-3", "+3", "=1+1", '=HYPERLINK("http://x")', "@SUM(1)", "-cmd", "|calc", "1,234", "1.234", "1,2,3",
    "1.2.3", "1_000", "0x10", "٣", "３", "½", "3 1/2 in", "3'4\"", "0.42 in", ">5.5 in", "60-90", "trace", "T",
    "12 parsecs", "2001", "0000-01-01", "0001-01-01", "9999-12-31", "2026-02-30", "2024-02-29", "1899-12-31",
    "2200-12-31", "2026-13-01", "99999", "20260101", "01/02/2026", "13/01/2026", "01/13/2026", "2026-01-01T25:00",
    "2026-01-01 09:00", "46024", "Jan 1 2026", "two\nlines", "a\rb", "tab\tin", '"quoted"', '"', "''", "\x1b[31m",
    "\u202e3", "\ufeff3", "\u2028", "\x85", "桶", "x" * 3000, "{", "[[[[", "null", "true", "-9999", "../../x", "%s",
    "\\u0041", "\\", "'", "'=1",
)  # fmt: skip
"""What may stand in a cell where something else was meant."""

STRAY = (b'"', b"\x00", b"\xff", b"\r", b"\n", b";", b",", b"\xef\xbb\xbf", b"\x1f\x8b")
"""Bytes that mean something to somebody."""

Table = list[list[str]]


def _days(dice: random.Random, count: int) -> list[date]:
    first = date(dice.choice((2019, 2021, 2025)), dice.randint(1, 12), dice.randint(1, 28))
    return [first + timedelta(days=n) for n in range(count)]


def plain_sheet(dice: random.Random) -> Table:
    """Return a sheet with the year first."""
    return [["date", "rain mm"], *([day.isoformat(), f"{dice.random() * 20:.1f}"] for day in _days(dice, 25))]


def old_sheet(dice: random.Random) -> Table:
    """Return a sheet with the day first, decimal commas, gaps and notes."""
    rows = [["Data", "chuva (mm)", "notas"]]
    for day in _days(dice, 40):
        depth = dice.choice(("0", "", "-", f"{dice.randint(0, 30)},{dice.randint(0, 9)}"))
        rows.append([f"{day:%d/%m/%Y}", depth, dice.choice(("", "vento", "trovoada; granizo"))])
    return rows


def gauge_sheet(dice: random.Random) -> Table:
    """Return a sheet without a heading, each depth with its own unit."""
    return [
        [f"{day:%m/%d/%Y}", dice.choice(("trace", ">5.5 in", "0.25-0.5 in", f"{dice.random():.2f} in"))]
        for day in _days(dice, 30)
    ]


def open_data(dice: random.Random) -> Table:
    """Return days of one or two stations in the layout of GHCN-Daily."""
    rows = [["ID", "DATE", "ELEMENT", "DATA_VALUE", "M_FLAG", "Q_FLAG", "S_FLAG", "OBS_TIME"]][
        : dice.randint(0, 1)
    ]
    for day in _days(dice, 20):
        for element in ("PRCP", "TMIN", "TMAX", "SNOW"):
            value = str(dice.choice((-9999, dice.randint(0, 300))))
            rows.append(["EXA00000001", f"{day:%Y%m%d}", element, value, dice.choice(("", "T")), "", "S", ""])
    return rows


KINDS: dict[str, tuple[Callable[[random.Random], Table], str]] = {
    "plain": (plain_sheet, ","),
    "old": (old_sheet, ";"),
    "gauge": (gauge_sheet, "\t"),
    "open": (open_data, ","),
}
"""Each sort of file, with what parts its columns."""


def spoil(table: Table, dice: random.Random) -> str:
    """Spoil a table in place, and say how."""
    row = dice.randrange(len(table))
    cells = table[row]
    place = dice.randrange(len(cells)) if cells else 0
    match dice.randint(0, 9):
        case 0 | 1 | 2 | 3 if cells:
            cells[place] = dice.choice(ODD)
            return f"cell {row}:{place} = {cells[place][:30]!r}"
        case 4:
            del table[row]
            table or table.append([""])
            return f"row {row} is gone"
        case 5:
            table.insert(dice.randrange(len(table)), list(cells))
            return f"row {row} twice"
        case 6:
            del cells[place:]
            return f"row {row} is cut at {place}"
        case 7:
            cells.extend(dice.choice(ODD) for _ in range(dice.choice((1, 3, 60))))
            return f"row {row} is longer"
        case 8:
            for one in table:
                one.insert(min(place, len(one)), one[place] if place < len(one) else "")
            return f"column {place} twice"
        case _:
            odd = dice.choice(ODD)
            for one in table[1:]:
                if place < len(one):
                    one[place] = odd
            return f"column {place} = {odd[:30]!r}"


def written(table: Table, parted_by: str, dice: random.Random) -> bytes:
    """Return the bytes of a table, now and then in a way that nobody should write."""
    ends = dice.choice((("\n",), ("\n",), ("\r\n",), ("\r",), ("\n", "\r\n", "\r")))
    quotes = dice.random()
    text = ""
    for row in table:
        cells = [
            '"' + cell.replace('"', '""') + '"'
            if quotes < 0.3 or (quotes < 0.9 and any(sign in cell for sign in (parted_by, '"', "\n", "\r")))
            else cell
            for cell in row
        ]
        text += parted_by.join(cells) + dice.choice(ends)
    encoding = dice.choices(
        ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1", "utf-32", "cp1252"), (40, 4, 1, 1, 1, 1, 1)
    )[0]
    content = text.encode(encoding, "replace")
    if dice.random() < 0.05:
        content = gzip.compress(content)
    return content


def disturbed(content: bytes, dice: random.Random) -> bytes:
    """Return the bytes with some of them changed, taken out, doubled or put in."""
    spoilt = bytearray(content or b"x")
    for _ in range(dice.choice((1, 1, 2, 8))):
        at = dice.randrange(len(spoilt)) if spoilt else 0
        match dice.randint(0, 4):
            case 0 if spoilt:
                spoilt[at] = dice.randrange(256)
            case 1:
                del spoilt[at : at + dice.choice((1, 2, 40))]
            case 2:
                spoilt[at:at] = dice.choice(
                    (b'"', b"\x00", b"\xff", b"\r", b"\n", b";", b",", b"\xef\xbb\xbf", b"\x1f\x8b")
                )
            case 3:
                other = dice.randrange(len(spoilt) + 1)
                spoilt[at:at] = spoilt[other : other + dice.choice((3, 30))]
            case _:
                spoilt = spoilt[:at]
    return bytes(spoilt)
