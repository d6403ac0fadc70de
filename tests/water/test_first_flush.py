"""First-flush pipes against the published tables F1-F6, and driven through rain, dry time and emptying (R13)."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.water.errors import OutOfRange
from tankdash.water.first_flush import FLUSH_DEPTHS, FlushPipe, dirt_left, flush_length, flush_room
from tankdash.water.model import FirstFlush

INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3
HOUR = 3600.0
BY_HAND = FirstFlush(0.008)
DRIPPING = FirstFlush(0.008, 6 * HOUR)


def test_F1_ten_gallons_for_a_thousand_square_feet() -> None:
    """Texas Manual on Rainwater Harvesting, 3rd ed. 2005, ch. 2 (M): 0.0160 in = 0.407 mm."""
    depth = FLUSH_DEPTHS["10 US gal per 1000 sq ft"]
    assert depth / INCH == pytest.approx(0.0160, abs=5e-5)
    assert depth * 1000 == pytest.approx(0.407, abs=5e-4)


def test_F2_the_advice_differs_twentyfold() -> None:
    """The enHealth s. 5.4 (P): 0.1 mm; extension practice (M): 0.20, 0.41, 0.81 mm; to 2 mm."""
    depths_mm = [depth * 1000 for depth in FLUSH_DEPTHS.values()]
    assert min(depths_mm) == pytest.approx(0.1)
    assert max(depths_mm) == pytest.approx(2.0)
    for advised in (0.20, 0.41, 0.81):
        assert any(depth == pytest.approx(advised, abs=0.005) for depth in depths_mm)


def test_F3_dirt_halves_with_each_millimetre() -> None:
    """Martinson and Thomas, 12th Int. Rainwater Catchment Systems Conf. 2005 (P): 3 mm leave 12.5 %."""
    assert dirt_left(0.003) == pytest.approx(0.125)
    assert dirt_left(0.0) == 1.0


@pytest.mark.parametrize(
    ("bore", "gallons_per_foot"),
    [(3.068, 0.3840), (4.026, 0.6613), (6.065, 1.5008), (3.042, 0.3776), (3.998, 0.6521)],
)
def test_F4_bore_to_volume(bore: float, gallons_per_foot: float) -> None:
    """ASTM D1785 dimensions (M), volumes by arithmetic."""
    assert flush_room(bore * INCH, FOOT) / GALLON == pytest.approx(gallons_per_foot, abs=5.1e-5)


def test_F5_a_long_pipe_for_a_millimetre() -> None:
    """Arithmetic (I): 7 x 14 m, 1 mm, 110 mm bore: 98 L, 10.31 m."""
    length = flush_length(7 * 14, 0.001, 0.110)
    assert length == pytest.approx(10.31, abs=0.005)
    assert flush_room(0.110, length) * 1000 == pytest.approx(98.0)


def test_F6_five_gallons_in_three_inch_pipe() -> None:
    """Worked out here (D): 500 sq ft, 1 gal/100 sq ft, 3.042 in bore: 5 gal, 13.24 ft."""
    depth = FLUSH_DEPTHS["usual roof, 1 US gal per 100 sq ft"]
    assert depth * 500 * FOOT**2 / GALLON == pytest.approx(5.0)
    assert flush_length(500 * FOOT**2, depth, 3.042 * INCH) / FOOT == pytest.approx(13.24, abs=0.005)


@pytest.mark.parametrize("bad", [-0.001, nan, inf])
def test_impossible_sizes_are_refused(bad: float) -> None:
    for ask in (
        lambda: dirt_left(bad), lambda: flush_room(bad, 1.0), lambda: flush_room(0.1, bad),
        lambda: flush_length(98.0, 0.001, bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()


def test_a_pipe_takes_what_it_has_room_for_and_no_more() -> None:
    pipe, taken = FlushPipe.empty(BY_HAND).rain(0.003, 0.003)
    assert (taken.low, taken.high, pipe.low) == (0.003, 0.003, 0.005)
    pipe, taken = pipe.rain(0.1, 0.1)
    assert (taken.low, taken.high) == pytest.approx((0.005, 0.005))
    assert pipe.is_full
    assert pipe.rain(0.1, 0.1)[1].high == 0.0


def test_a_pipe_emptied_by_hand_does_not_regain_room_with_time() -> None:
    full = FlushPipe.empty(BY_HAND).filled()
    assert full.wait(1e9) == full
    assert full.emptied().low == BY_HAND.holds


def test_a_self_emptying_pipe_is_empty_after_its_time_by_either_law() -> None:
    full = FlushPipe.empty(DRIPPING).filled()
    half = full.wait(3 * HOUR)
    # Evenly: half of it. Through a hole under the falling head: 1 - (1 - 1/2)^2 (Torricelli; D).
    assert (half.low, half.high) == pytest.approx((0.004, 0.006))
    whole = full.wait(6 * HOUR)
    assert (whole.low, whole.high) == pytest.approx((0.008, 0.008))


def test_a_long_period_widens_what_a_self_emptying_pipe_may_have_taken() -> None:
    full = FlushPipe.empty(DRIPPING).filled()
    burst = full.rain(0.1, 0.1, 0.0)[1]
    day = full.rain(0.1, 0.1, 24 * HOUR)[1]
    assert (burst.low, burst.high) == (0.0, 0.0)
    assert day.low == 0.0
    assert day.high > DRIPPING.holds  # it may have drained before, and dripped while it rained
    after, _ = full.rain(0.1, 0.1, 24 * HOUR)
    assert (after.low, after.high) == pytest.approx((0.0, DRIPPING.holds))


def test_what_a_pipe_keeps_of_a_drizzle_is_its_room_and_what_leaks_out_meanwhile() -> None:
    """R13 (D): 8 L that empty in 6 h leak 32 L in a day if evenly; a hole under the full head runs twice as fast."""
    full, empty = FlushPipe.with_room(DRIPPING, 0.0, 0.0), FlushPipe.empty(DRIPPING)
    assert (full.most_kept(0.0), full.most_kept(24 * HOUR)) == pytest.approx((0.0, 0.064))
    assert empty.most_kept(24 * HOUR) == pytest.approx(0.072)
    assert FlushPipe.empty(BY_HAND).most_kept(24 * HOUR) == 0.008


def test_a_rain_without_upper_bound_fills_the_pipe_at_most() -> None:
    pipe, taken = FlushPipe.empty(BY_HAND).rain(0.0, inf)
    assert (pipe.low, pipe.high) == (0.0, BY_HAND.holds)
    assert (taken.low, taken.high) == (0.0, BY_HAND.holds)


steps = st.lists(
    st.one_of(
        st.tuples(st.just("rain"), st.floats(0.0, 0.02), st.floats(0.0, 0.02), st.floats(0.0, 90000.0)),
        st.tuples(st.just("wait"), st.floats(0.0, 40000.0), st.just(0.0), st.just(0.0)),
        st.tuples(st.just("emptied"), st.just(0.0), st.just(0.0), st.just(0.0)),
    ),
    max_size=15,
)


@settings(max_examples=150)
@given(steps, st.sampled_from([BY_HAND, DRIPPING]))
def test_room_stays_a_range_between_nothing_and_all_of_it(
    done: list[tuple[str, float, float, float]], flush: FirstFlush
) -> None:
    pipe = FlushPipe.empty(flush)
    for kind, first, second, seconds in done:
        if kind == "rain":
            pipe, taken = pipe.rain(min(first, second), max(first, second), seconds)
            assert 0.0 <= taken.low <= taken.high + 1e-15 <= max(first, second) + 2e-15
        else:
            pipe = pipe.wait(first) if kind == "wait" else pipe.emptied()
        assert -1e-15 <= pipe.low <= pipe.high + 1e-15 <= flush.holds + 2e-15


@settings(max_examples=100)
@given(st.floats(0.0, 1.0), st.floats(0.0, 30000.0), st.floats(0.0, 30000.0))
def test_waiting_twice_is_waiting_once(share: float, first: float, second: float) -> None:
    pipe = FlushPipe.with_room(DRIPPING, 0.0, share * DRIPPING.holds)
    twice, once = pipe.wait(first).wait(second), pipe.wait(first + second)
    assert twice.low == pytest.approx(once.low, abs=1e-12)
    assert twice.high == pytest.approx(once.high, abs=1e-12)


@settings(max_examples=100)
@given(st.lists(st.floats(0.0, 0.01), max_size=8))
def test_a_pipe_by_hand_takes_in_all_exactly_what_it_holds_or_what_came(amounts: list[float]) -> None:
    """In = kept out + passed on, to 1e-9 (R9)."""
    pipe, kept = FlushPipe.empty(BY_HAND), 0.0
    for amount in amounts:
        pipe, taken = pipe.rain(amount, amount)
        kept += taken.high
    assert kept == pytest.approx(min(BY_HAND.holds, sum(amounts)), abs=1e-12)
    assert kept + pipe.low == pytest.approx(BY_HAND.holds, abs=1e-12)
