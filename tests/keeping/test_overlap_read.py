"""What all tanks hold together is known better than tank by tank, and never in a way that contradicts itself."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.keeping.state.overlap import Overlap, between
from tankdash.keeping.state.tracks import Three
from tankdash.water.rest import AtRest, TankAtRest

LITTLE = 1e-9
TANKS = ("one", "two", "three")


def held(**spans: tuple[float, float]) -> Three[dict[str, float]]:
    return Three(
        {tank: low for tank, (low, _) in spans.items()},
        {tank: 0.5 * (low + high) for tank, (low, high) in spans.items()},
        {tank: high for tank, (_, high) in spans.items()},
    )


def test_a_reading_below_all_the_journal_thought_possible_leaves_no_least_above_the_most() -> None:
    """A dry stick in one of three: the other two fell with it, and their litres were once counted as still there."""
    before = held(drum=(0.047, 0.490), silo=(0.349, 0.778), tall=(0.235, 0.533), slim=(0.069, 0.218))
    after = held(drum=(0.047, 0.490), silo=(0.128, 0.128), tall=(0.081, 0.081), slim=(0.0, 0.0))
    overlap = Overlap(under=0.07).read(before, after, ["slim"])
    assert overlap.least(after) <= overlap.most(after)
    assert overlap.least(after) <= sum(after.high.values())


SPAN = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)).map(lambda ends: (min(ends), max(ends)))
SHARE = st.floats(0.0, 1.0)


@settings(max_examples=200)
@given(
    before=st.tuples(SPAN, SPAN, SPAN),
    after=st.tuples(SPAN, SPAN, SPAN),
    keeps=st.sets(st.sampled_from(TANKS)),
    read=st.sets(st.sampled_from(TANKS), min_size=1),
    shares=st.tuples(SHARE, SHARE),
)
def test_no_reading_makes_the_least_more_than_the_most(
    before: tuple[tuple[float, float], ...],
    after: tuple[tuple[float, float], ...],
    keeps: set[str],
    read: set[str],
    shares: tuple[float, float],
) -> None:
    """Whatever was known of the sum, whatever is read, and whichever other tanks the reading moves."""
    was = dict(zip(TANKS, before, strict=True))
    now = {tank: was[tank] if tank in keeps else span for tank, span in zip(TANKS, after, strict=True)}
    low, high = sum(span[0] for span in before), sum(span[1] for span in before)
    least, most = (low + share * (high - low) for share in sorted(shares))
    held_before, held_after = held(**was), held(**now)
    overlap = between(held_before, least, most).read(held_before, held_after, sorted(read))
    assert overlap.least(held_after) <= overlap.most(held_after) + LITTLE
    assert sum(held_after.low.values()) <= overlap.least(held_after) + LITTLE
    assert overlap.most(held_after) <= sum(held_after.high.values()) + LITTLE


@settings(max_examples=200)
@given(spans=st.tuples(SPAN, SPAN, SPAN), told=st.tuples(SHARE, SHARE), read=st.tuples(SHARE, SHARE))
def test_where_the_journal_and_a_reading_do_not_meet_the_reading_is_right(
    spans: tuple[tuple[float, float], ...], told: tuple[float, float], read: tuple[float, float]
) -> None:
    held_now = held(**dict(zip(TANKS, spans, strict=True)))
    low, high = sum(span[0] for span in spans), sum(span[1] for span in spans)
    least, most = (low + share * (high - low) for share in sorted(told))
    rest_low, rest_high = (low + share * (high - low) for share in sorted(read))
    tanks = {
        tank: TankAtRest(None, None, None, span[0], span[1], "unknown")
        for tank, span in zip(TANKS, spans, strict=True)
    }
    rest = AtRest(tanks, (), 0.0, rest_low, rest_high, ())
    overlap = between(held_now, least, most).rested(held_now, rest)
    assert overlap.least(held_now) <= overlap.most(held_now) + LITTLE
    assert rest_low - LITTLE <= overlap.least(held_now) <= rest_high + LITTLE
    assert rest_low - LITTLE <= overlap.most(held_now) <= rest_high + LITTLE
