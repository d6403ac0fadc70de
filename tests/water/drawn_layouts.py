"""Layouts as they fall: what the laws of the water floor are tried on."""

from __future__ import annotations

from hypothesis import strategies as st

from tankdash.water.model import Layout, Link, Outlet, Roof, Shape, Tank
from tankdash.water.shapes import Box, Cone, Lying, Straight, Table, Taper, Upright

__all__ = ["heights", "layouts", "shapes", "uneven"]

shapes: st.SearchStrategy[Shape] = st.one_of(
    st.builds(Straight, st.floats(0.1, 4.0), st.just(1.0)),
    st.builds(Box, st.floats(0.3, 2.0), st.floats(0.3, 2.0), st.just(1.0)),
    st.builds(Upright, st.floats(0.3, 2.0), st.just(1.0)),
    st.builds(Lying, st.just(1.0), st.floats(0.5, 3.0)),
    st.builds(Taper, st.floats(0.3, 1.0), st.floats(0.3, 1.0), st.just(1.0)),
    st.builds(Cone, st.floats(0.5, 1.5), st.floats(0.1, 0.4), st.just(1.0)),
    st.just(Table(((0.0, 0.0), (0.3, 0.2), (0.7, 0.9), (1.0, 1.0)))),
)
"""Insides a metre tall."""

heights = st.integers(0, 100).map(lambda mark: mark / 100.0)
"""Centimetre marks, so that equal sills and lips do come up."""

uneven = st.floats(0.0, 1.0, allow_nan=False)
"""Heights that are hardly ever equal."""


@st.composite
def layouts(
    draw: st.DrawFn,
    *,
    marks: st.SearchStrategy[float] = heights,
    insides: st.SearchStrategy[Shape] = shapes,
    most: int = 6,
    overflows: bool = True,
    crests: bool = False,
) -> Layout:
    """Draw a layout: chains, stars, loops and headers as they fall, some banks apart, two outlets, two roofs."""
    count = draw(st.integers(1, most))
    names = [f"t{place}" for place in range(count)]
    tanks: dict[str, Tank] = {}
    for name in names:
        overflow = draw(st.none() | marks.map(lambda mark: 0.3 + 0.7 * mark))
        below = draw(st.none() | st.sampled_from(names)) if overflows and overflow is not None else None
        tanks[name] = Tank(
            name,
            draw(insides),
            base=draw(marks) - 0.4,
            brim=1.0,
            overflow=overflow,
            overflow_to=None if below == name else below,
            silt=draw(st.sampled_from([0.0, 0.0, 0.1])),
        )
    links: dict[str, Link] = {}
    if count > 1:
        for place in range(draw(st.integers(0, count + 2))):
            joins = tuple(draw(st.lists(st.sampled_from(names), min_size=2, max_size=4, unique=True)))
            ports = tuple(draw(marks) * 0.9 for _ in joins)
            links[f"l{place}"] = Link(
                f"l{place}",
                joins,
                ports,
                crest=draw(st.none() | marks.map(lambda mark: mark * 1.5)) if crests else None,
                primed=draw(st.sampled_from([None, True, False])) if crests else None,
                bore=draw(st.sampled_from([0.025, 0.05, None])),
                run=draw(st.sampled_from([None, 1.0])),
                is_open=draw(st.sampled_from([True, True, True, False])),
            )
    outlets = {key: Outlet(key, draw(st.sampled_from(names)), draw(marks) * 0.5) for key in ("tap", "pump")}
    roofs = {key: Roof(key, draw(st.floats(1, 50)), draw(st.sampled_from(names))) for key in ("shed", "barn")}
    return Layout(tanks, links, outlets, roofs)
