"""The plain sentences beside the picture: what can be used, what cannot and why, and how much room is left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import cut, in_ascii, printable, text_width
from tankdash.drawing.scene import Scene, ScenePool, SceneTank, range_text, volume_text
from tankdash.units import format_length, format_volume

_DROP = 5e-5
"""Water too little to speak of, [m3]."""


def words(scene: Scene, width: int | None = None, ascii: bool = False) -> list[Row]:
    """Return what the picture says, in sentences; the most wanted first.

    Parameters
    ----------
    scene : Scene
        What the picture shows.
    width : int, optional
        Wrap to so many cells; one row a sentence when left out.
    ascii : bool
        Use no sign outside ASCII.

    Returns
    -------
    list of Row
        Figures and names in their own roles; rows are not filled up to the width.
    """
    rows: list[Row] = []
    for sentence in [*_usable(scene), *_stranded(scene), *_room(scene), *_links(scene)]:
        spans = [Span(in_ascii(span.text) if ascii else printable(span.text), span.role) for span in sentence]
        rows += [spans] if width is None else wrap(spans, width)
    return rows


def wrap(spans: Iterable[Span], width: int) -> list[Row]:
    """Return `spans` broken into rows of at most `width` cells; a figure with its unit is never broken.

    Examples
    --------
    >>> rows = wrap([Span("there are ", "dim"), Span("630 L", "figure"), Span(" left", "dim")], 12)
    >>> ["".join(span.text for span in row) for row in rows]
    ['there are', '630 L left']
    """
    rows: list[Row] = [[]]
    used = 0
    for text, role in _pieces(spans):
        space = used > 0 and text.startswith(" ")
        text = text.strip(" ")
        if not text:
            continue
        text = cut(text, max(1, width), "~" if text.isascii() else "…")
        size = text_width(text)
        glued = used > 0 and not space
        if used and used + size + (0 if glued else 1) > width:
            if glued and len(rows[-1]) > 1:
                rows.append([rows[-1].pop()])
                used = text_width(rows[-1][0].text)
                rows[-1][0] = Span(rows[-1][0].text.lstrip(" "), rows[-1][0].role)
            else:
                rows.append([])
                used = 0
            space = space and used > 0
        rows[-1].append(Span((" " if space else "") + text, role))
        used = sum(text_width(span.text) for span in rows[-1])
    return [_joined(row) for row in rows if row]


def _pieces(spans: Iterable[Span]) -> Iterable[tuple[str, str]]:
    """Yield words, each with the blank before it if there is one; figures and names stay whole."""
    blank = False
    for text, role in spans:
        if role in ("figure", "label", "warn") and text.strip():
            yield (" " if blank or text.startswith(" ") else "") + text.strip(), role
            blank = text.endswith(" ")
            continue
        for spot, word in enumerate(text.split(" ")):
            if word:
                yield (" " if spot > 0 or blank else "") + word, role
                blank = False
        blank = text.endswith(" ")


def _joined(row: Sequence[Span]) -> Row:
    """Return the row with neighbours of one role made one."""
    joined: Row = []
    for span in row:
        if joined and joined[-1].role == span.role:
            joined[-1] = Span(joined[-1].text + span.text, span.role)
        else:
            joined.append(span)
    return joined


def _usable(scene: Scene) -> list[Row]:
    totals = scene.totals
    if totals is None or all(tank.state == "unknown" for tank in scene.tanks):
        return [[Span("What is in the tanks is not known yet;", "warn"), Span(" dip one.", "dim")]]
    if totals.high <= _DROP:
        return [[Span("The tanks are dry.", "warn")]]
    held = range_text(totals.low, totals.high, scene.units)
    if totals.usable_high <= _DROP:
        first = [Span("Nothing usable", "warn"), Span(" of ", "dim")]
    else:
        reachable = range_text(totals.usable_low, totals.usable_high, scene.units)
        first = [Span(reachable, "figure"), Span(" usable of ", "dim")]
    return [[*first, Span(held, "figure"), Span(" in the tanks.", "dim")]]


def _stranded(scene: Scene) -> list[Row]:
    """Say what cannot be used, and why."""
    sentences: list[Row] = []
    units = scene.units
    below = 0.0 if scene.totals is None else scene.totals.below_outlet or 0.0
    for tank in scene.tanks:
        if not tank.is_stranded:
            continue
        if tank.state != "vent-closed":
            below -= tank.low_volume
        if tank.high_volume > _DROP:
            sentences.append(_cut_off(tank, scene))
    if below > _DROP:
        lowest = min((outlet for outlet in scene.outlets), key=lambda outlet: outlet.at, default=None)
        why = (
            [Span(" lies below the outlet.", "dim")]
            if lowest is None
            else [
                Span(f" lies below the {'lowest outlet' if len(scene.outlets) > 1 else 'outlet'} (", "dim"),
                Span(lowest.label, "label"),
                Span(" at ", "dim"),
                Span(format_length(lowest.at, units), "figure"),
                Span(") or below a link.", "dim"),
            ]
        )
        sentences.insert(0, [Span(format_volume(below, units), "figure"), *why])
    unknown = [tank.label for tank in scene.tanks if tank.state == "unknown"]
    if unknown:
        sentences.append(_not_known(unknown))
    return sentences


def _not_known(labels: Sequence[str]) -> Row:
    """Say of which tanks nothing is known, in one sentence however many they are."""
    named: Row = []
    for place, label in enumerate(labels):
        joint = "" if place == 0 else " and " if place == len(labels) - 1 else ", "
        named += [Span(joint, "dim"), Span(label, "label")] if joint else [Span(label, "label")]
    is_one = len(labels) == 1
    return [
        *named,
        Span(" is " if is_one else " are ", "dim"),
        Span("not known", "warn"),
        Span(f"; dip {'it' if is_one else 'them'} to be sure.", "dim"),
    ]


def _cut_off(tank: SceneTank, scene: Scene) -> Row:
    start = [
        Span(tank.label, "label"),
        Span(": ", "dim"),
        Span(volume_text(tank, scene.units), "figure"),
        Span(" ", "dim"),
    ]
    if tank.state == "vent-closed":
        return [*start, Span("at most, not counted:", "warn"), Span(" its vent is closed.", "dim")]
    if tank.usable_from is None:
        return [*start, Span("cut off:", "warn"), Span(" no open way leads to an outlet.", "dim")]
    return [
        *start,
        Span("cut off:", "warn"),
        Span(" the surface is below its way out at ", "dim"),
        Span(format_length(tank.usable_from, scene.units), "figure"),
        Span(".", "dim"),
    ]


def _room(scene: Scene) -> list[Row]:
    """Say how much more goes in, and who spills first."""
    totals = scene.totals
    if totals is None or totals.headroom is None:
        return []
    spilling: list[tuple[float, ScenePool]] = [
        (pool.spill - pool.surface, pool) for pool in scene.pools if pool.spill is not None and pool.spills_at
    ]
    if not spilling:
        return [[Span(format_volume(totals.headroom, scene.units), "figure"), Span(" of room left.", "dim")]]
    # The pool of most tanks is the one people ask about; of equals, the one nearest its lip.
    rise, pool = min(spilling, key=lambda found: (-len(found[1].tanks), found[0]))
    labels = {tank.id: tank.label for tank in scene.tanks}
    name = labels.get(str(pool.spills_at), str(pool.spills_at))
    if rise <= 1e-3:
        return [
            [Span(name, "label"), Span(" is at its lip:", "warn"), Span(" what comes now spills.", "dim")]
        ]
    return [
        [
            Span(format_volume(totals.headroom, scene.units), "figure"),
            Span(" of room; ", "dim"),
            Span(name, "label"),
            Span(" spills first, at ", "dim"),
            Span(format_length(float(pool.spill or 0.0), scene.units), "figure"),
            Span(".", "dim"),
        ]
    ]


def _links(scene: Scene) -> list[Row]:
    """Say which links do not pass, or may not."""
    sentences: list[Row] = []
    for link in scene.links:
        named = f"{link.label[:1].upper()}{link.label[1:]}"
        start = [Span(named, "label")] if named else [Span("Link ", "dim"), Span(link.id, "label")]
        if not link.is_open:
            sentences.append([*start, Span(" is closed.", "warn")])
        elif link.crest is not None and link.primed is None:
            sentences.append(
                [
                    *start,
                    Span(" rises over a crest at ", "dim"),
                    Span(format_length(link.crest, scene.units), "figure"),
                    Span(" and ", "dim"),
                    Span("may be full of air;", "warn"),
                    Span(" dip both ends.", "dim"),
                ]
            )
    return sentences
