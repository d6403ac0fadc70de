"""A thin line in a table: how much of what there is a thing takes, with a mark at what it needs."""

from __future__ import annotations


def meter(share: float | None, width: int, ascii: bool = False, mark: float | None = None) -> str:
    """Return a line `width` cells long, heavy up to `share` of it.

    Parameters
    ----------
    share : float or None
        0 to 1; above 1 the line is heavy to its end and ends in an arrow, None leaves it open.
    width : int
        [cells].
    ascii : bool
        Use no sign outside ASCII.
    mark : float, optional
        Share at which a mark stands; outside 0 to 1 there is none.

    Examples
    --------
    >>> meter(0.5, 8), meter(1.2, 8), meter(None, 4)
    ('━━━━────', '━━━━━━━▶', '┈┈┈┈')
    >>> meter(0.5, 8, ascii=True, mark=0.75), meter(0.02, 4, ascii=True)
    ('====--|-', '=---')
    """
    heavy, light, over, tick, none = ("=", "-", ">", "|", ".") if ascii else ("━", "─", "▶", "│", "┈")
    if width <= 0:
        return ""
    if share is None:
        return none * width
    filled = min(width, max(1 if share > 0.0 else 0, round(share * width)))
    cells = [heavy] * filled + [light] * (width - filled)
    if share > 1.0 + 1e-9:
        cells[-1] = over
    if mark is not None and 0.0 <= mark <= 1.0:
        cells[min(width - 1, int(mark * width))] = tick
    return "".join(cells)
