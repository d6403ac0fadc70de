"""The daily balance (R18) against S1-S3 and the law that no water appears or vanishes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.water.daily import balance
from tankdash.water.errors import OutOfRange

INFLOW = [0, 60, 0, 300, 0, 0]


def test_S1_yield_after_spillage() -> None:
    """Worked out here from the rule (D); rule of Jenkins 1978, Fewkes and Butler 2000 (M)."""
    run = balance(200, 50, INFLOW, [40] * 6, "YAS")
    assert run.yields == (40, 10, 40, 20, 40, 40)
    assert sum(run.spilled) == 120
    assert run.stored == (10, 60, 20, 180, 140, 100)
    assert run.volume_reliability == pytest.approx(0.7917, abs=5e-5)
    assert (run.days_met, run.days_wanted) == (4, 6)


def test_S1_yield_before_spillage() -> None:
    """Worked out here from the rule (D)."""
    run = balance(200, 50, INFLOW, [40] * 6, "YBS")
    assert run.yields == (40, 40, 30, 40, 40, 40)
    assert sum(run.spilled) == 60
    assert run.stored == (10, 30, 0, 200, 160, 120)
    assert run.volume_reliability == pytest.approx(0.9583, abs=5e-5)
    assert (run.days_met, run.days_wanted) == (5, 6)
    assert run.day_reliability == pytest.approx(5 / 6)


amounts = st.floats(0.0, 100.0)


@settings(max_examples=150)
@given(st.floats(0.0, 300.0), st.floats(0.0, 1.0), st.lists(st.tuples(amounts, amounts), max_size=40),
       st.sampled_from(["YAS", "YBS"]))  # fmt: skip
def test_S2_the_balance_closes(
    storage: float, share: float, days: list[tuple[float, float]], rule: str
) -> None:
    """A law: V0 + sum Q = sum Y + sum spill + V."""
    start = storage * share
    run = balance(storage, start, [q for q, _ in days], [d for _, d in days], rule)  # type: ignore[arg-type]
    last = run.stored[-1] if run.stored else start
    assert start + sum(q for q, _ in days) == pytest.approx(
        sum(run.yields) + sum(run.spilled) + last, abs=1e-9
    )
    assert all(0.0 <= held <= storage for held in run.stored)
    assert all(0.0 <= given <= wanted for given, wanted in zip(run.yields, run.demand, strict=True))
    assert all(lost >= 0.0 for lost in run.spilled)


@settings(max_examples=100)
@given(st.floats(0.0, 300.0), st.floats(0.0, 50.0), st.lists(st.tuples(amounts, amounts), max_size=40))
def test_drawing_before_spilling_never_gives_less(
    storage: float, more: float, days: list[tuple[float, float]]
) -> None:
    inflow, demand = [q for q, _ in days], [d for _, d in days]
    after = sum(balance(storage, 0.0, inflow, demand, "YAS").yields)
    before = sum(balance(storage, 0.0, inflow, demand, "YBS").yields)
    assert before >= after - 1e-9
    larger = sum(balance(storage + more, 0.0, inflow, demand, "YBS").yields)
    assert larger >= before - 1e-9


@pytest.mark.parametrize(("rule", "reliability"), [("YAS", 0.546), ("YBS", 0.779)])
def test_S3_the_rule_alone_moves_a_monthly_answer_by_half(rule: str, reliability: float) -> None:
    """Worked out here (D): 400 sq ft x 0.9, 550 gal, 0.623 gal/sq ft/in. The reason for a daily step."""
    rain = [3.0, 2.5, 3.0, 2.0, 1.5, 0.5, 0.2, 0.3, 1.0, 2.5, 3.0, 3.5]
    demand = [0, 0, 100, 200, 300, 400, 450, 400, 200, 100, 0, 0]
    run = balance(550, 0, [400 * 0.9 * 0.623 * inches for inches in rain], demand, rule)  # type: ignore[arg-type]
    assert run.volume_reliability == pytest.approx(reliability, abs=5e-4)


def test_S6_forty_two_days_in_full() -> None:
    """Arithmetic: 6000 L at 140 L a day is 42 days in full, the 43rd short by 20 L."""
    run = balance(6000, 6000, [0] * 43, [140] * 43)
    assert run.days_met == 42
    assert run.demand[-1] - run.yields[-1] == pytest.approx(20)


def test_a_store_asked_for_nothing_has_failed_nobody() -> None:
    run = balance(100, 0, [10], [0])
    assert (run.volume_reliability, run.day_reliability) == (1.0, 1.0)


@pytest.mark.parametrize(
    "arguments",
    [(100, 101, [0], [0]), (100, -1, [0], [0]), (100, 0, [0], [0, 1]), (100, 0, [-1], [0]),
     (100, 0, [0], [float("nan")]), (float("inf"), 0, [0], [0]), (100, 0, [0], [0], "other")],
)  # fmt: skip
def test_impossible_stores_are_refused(arguments: tuple) -> None:
    with pytest.raises(OutOfRange):
        balance(*arguments)
