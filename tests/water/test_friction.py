"""What a pipe passes: the Darcy law from laminar to turbulent against published figures and an independent engine."""

from __future__ import annotations

from itertools import pairwise
from math import inf, nan, pi, sqrt

import fluids.fittings
import fluids.friction
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.water.errors import OutOfRange
from tankdash.water.friction import (
    FITTINGS,
    GRAVITY,
    VISCOSITY,
    Pipe,
    friction_factor,
    head_for_flow,
    link_flow,
)
from tankdash.water.model import Link


def test_slow_flow_follows_hagen_and_poiseuille() -> None:
    """Laminar f = 64 / Re: any handbook; and the flow it gives is pi g D^4 h / (128 nu L)."""
    assert friction_factor(500.0) == 64 / 500
    assert friction_factor(1500.0) == pytest.approx(64 / 1500, rel=1e-4)
    hose = Pipe(bore=0.013, run=2.0, losses=0.0)
    head = 1e-4
    assert hose.flow(head) == pytest.approx(
        pi * GRAVITY * 0.013**4 * head / (128 * VISCOSITY * 2.0), rel=1e-9
    )


@pytest.mark.parametrize("reynolds", [4e3, 1e4, 3e4, 1e5, 3e5, 1e6, 1e7])
def test_turbulent_friction_agrees_with_an_independent_engine(reynolds: float) -> None:
    """`fluids` 1.3, exact Colebrook-White with a smooth wall; the explicit formula stays within 2 %."""
    assert friction_factor(reynolds) == pytest.approx(
        fluids.friction.friction_factor(Re=reynolds, eD=0.0), rel=0.02
    )


@pytest.mark.parametrize("reynolds", [900.0, 1999.0, 2500.0, 3500.0, 5e4, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-4])
def test_the_formula_is_the_one_named(reynolds: float, roughness: float) -> None:
    """`fluids` 1.3, Churchill_1977, term by term the same formula."""
    assert friction_factor(reynolds, roughness) == pytest.approx(
        fluids.friction.Churchill_1977(reynolds, roughness), rel=1e-9
    )


def test_friction_stays_near_the_measured_smooth_pipe() -> None:
    """Swanson and others, smooth pipe measured at Oregon 2002, as carried by `fluids` 1.3; outside 1000 < Re < 3100.

    In between the flow itself wavers between two states and so do the points.
    """
    for reynolds, measured in zip(fluids.friction.oregon_Res, fluids.friction.oregon_fd_smooth, strict=True):
        if not 1000 < reynolds < 3100 and reynolds > 25:
            assert friction_factor(reynolds) == pytest.approx(measured, rel=0.075)


def test_head_loss_rises_steadily_through_the_transition() -> None:
    losses = [
        friction_factor(reynolds) * reynolds**2 for reynolds in (100 * 1.01**step for step in range(900))
    ]
    assert all(more > less * 1.009 for less, more in pairwise(losses))


def test_H10_head_of_a_long_pipe() -> None:
    """Cengel and Cimbala, Fluid Mechanics, Ex. 8-3 (I): 15 C, 50 mm, 6 L/s, 60 m, 0.002 mm: f 0.0172, 9.82 m.

    They solve Colebrook's equation; the explicit formula lies 0.5 % under it.
    """
    pipe = Pipe(bore=0.05, run=60.0, losses=0.0, roughness=2e-6)
    reynolds = 0.006 / pipe.section * 0.05 / VISCOSITY
    assert friction_factor(reynolds, 2e-6 / 0.05) == pytest.approx(0.0172, rel=0.01)
    assert pipe.head(0.006) == pytest.approx(9.82, rel=0.01)


def test_H9_losses_of_fittings_are_data_with_a_range() -> None:
    """Handbooks, which differ by a third (P); a link not told otherwise has an entrance and an exit."""
    assert FITTINGS["sharp entrance"] == (0.5, 0.5)
    assert FITTINGS["exit"] == (1.0, 1.0)
    assert FITTINGS["projecting entrance"] == (0.8, 1.0)
    assert FITTINGS["threaded elbow"] == (0.9, 1.5)
    assert (FITTINGS["tee, straight through"], FITTINGS["tee, into the branch"]) == ((0.9, 0.9), (2.0, 2.0))
    assert (FITTINGS["ball valve, open"], FITTINGS["gate valve, open"]) == ((0.05, 0.05), (0.15, 0.2))
    assert Link("l", ("a", "b"), (0.0, 0.0)).losses == FITTINGS["sharp entrance"][0] + FITTINGS["exit"][0]


@pytest.mark.parametrize(
    ("fitting", "theirs"),
    [("sharp entrance", fluids.fittings.entrance_sharp()), ("exit", fluids.fittings.exit_normal())],
)
def test_losses_agree_with_an_independent_engine(fitting: str, theirs: float) -> None:
    """`fluids` 1.3, entrance_sharp (0.57, newer measurements) and exit_normal."""
    assert FITTINGS[fitting][0] == pytest.approx(theirs, rel=0.15)


def test_without_friction_the_losses_alone_brake() -> None:
    """R12 with no run: Q = A sqrt(2 g dh / K)."""
    port = Pipe(bore=0.05, losses=1.5)
    assert port.flow(0.2) == pytest.approx(pi / 4 * 0.05**2 * sqrt(2 * GRAVITY * 0.2 / 1.5), rel=1e-12)


@settings(max_examples=150)
@given(
    st.builds(Pipe, st.floats(0.003, 0.3), st.floats(0.0, 100.0), st.floats(0.1, 20.0)), st.floats(1e-9, 20.0)
)
def test_flow_and_head_undo_each_other(pipe: Pipe, head: float) -> None:
    flow = pipe.flow(head)
    assert flow > 0.0
    assert pipe.head(flow) == pytest.approx(head, rel=1e-9)
    assert pipe.flow(-head) == -flow
    assert pipe.head(-flow) == -pipe.head(flow)


@settings(max_examples=100)
@given(
    st.builds(Pipe, st.floats(0.003, 0.3), st.floats(0.0, 100.0), st.floats(0.1, 20.0)),
    st.floats(1e-9, 10.0), st.floats(1.001, 2.0),
)  # fmt: skip
def test_more_head_passes_more_and_a_longer_pipe_less(pipe: Pipe, head: float, times: float) -> None:
    assert pipe.flow(head * times) > pipe.flow(head)
    longer = Pipe(pipe.bore, pipe.run * times + 0.01, pipe.losses)
    assert longer.flow(head) <= pipe.flow(head)


def test_no_head_no_flow() -> None:
    pipe = Pipe(bore=0.05, run=1.0)
    assert pipe.flow(0.0) == pipe.flow(-0.0) == pipe.head(0.0) == 0.0


def test_a_link_nobody_measured_is_unknown() -> None:
    assert link_flow(Link("hose", ("a", "b"), (0.0, 0.0), run=1.0), 0.1) is None
    assert link_flow(Link("hose", ("a", "b"), (0.0, 0.0), bore=0.02), 0.1) is None
    assert head_for_flow(Link("hose", ("a", "b"), (0.0, 0.0)), 0.001) is None
    known = Link("hose", ("a", "b"), (0.0, 0.0), bore=0.02, run=1.0)
    flow = link_flow(known, 0.1)
    assert flow is not None
    assert head_for_flow(known, flow) == pytest.approx(0.1)


@pytest.mark.parametrize("bad", [nan, inf, -1.0])
def test_impossible_numbers_are_refused(bad: float) -> None:
    for ask in (
        lambda: Pipe(bore=bad), lambda: Pipe(0.05, run=bad), lambda: Pipe(0.05, losses=bad),
        lambda: friction_factor(bad), lambda: Pipe(0.05, run=0.0, losses=0.0), lambda: Pipe(bore=0.0),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()
    with pytest.raises(OutOfRange):
        Pipe(0.05).flow(nan)
    with pytest.raises(OutOfRange):
        Pipe(0.05).head(inf)
