"""Laws the water floor obeys on layouts nobody thought of: chains, stars, loops, headers, banks apart (R3 to R10)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from drawn_layouts import layouts, shapes, uneven
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tankdash.water.drawing_off import draw, transfer
from tankdash.water.filling import pour, settle, settled
from tankdash.water.holding import full, headroom, lost_to_bases, never_fills, usable
from tankdash.water.model import Contents, Layout, Link, Tank
from tankdash.water.one_surface import OneSurface
from tankdash.water.pools import is_at_rest, pools
from tankdash.water.priming import unprimed_by, with_primes_lost
from tankdash.water.rest import at_rest
from tankdash.water.sills import banks, sills_from


@st.composite
def inflows(draw: st.DrawFn, layout: Layout, *, most: float = 3.0) -> dict[str, float]:
    """Draw water for some of the tanks of a layout, [m3]."""
    volumes = st.one_of(st.just(0.0), st.floats(0.0, most))
    return {name: draw(volumes) for name in layout.tanks if draw(st.booleans())}


LAW = settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
EVEN, UNEVEN = layouts(), layouts(marks=uneven)


def total(contents: Contents) -> float:
    """Return the sum over all tanks, [m3]."""
    return sum(contents.values())


def close(figure: float) -> object:
    """Return a figure as near as computed heights let volumes be, far below a millilitre."""
    return pytest.approx(figure, rel=1e-9, abs=1e-8)


@st.composite
def held(draw: st.DrawFn, site: Layout) -> dict[str, float]:
    """Draw contents that have found their level in a layout."""
    filled = pour(site, {}, draw(inflows(site))).contents
    if draw(st.booleans()):
        filled = draw_some(site, filled, draw(st.floats(0.0, 1.0)))
    return filled


def draw_some(site: Layout, contents: Contents, volume: float) -> dict[str, float]:
    """Return contents after a draw from the first outlet, so that some tanks are left cut off."""
    return draw(site, contents, next(iter(site.outlets)), volume).contents


# Filling (R9)


@LAW
@given(st.data())
def test_litres_never_appear_or_vanish_while_filling(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    before = data.draw(held(site))
    inflow = data.draw(inflows(site))
    after = pour(site, before, inflow)
    assert total(after.contents) + total(after.spilled) == pytest.approx(
        total(before) + total(inflow), rel=1e-9, abs=1e-15
    )
    assert all(0.0 <= volume <= site.tanks[name].capacity for name, volume in after.contents.items())


@LAW
@given(st.data())
def test_what_was_poured_stands_at_rest(data: st.DataObject) -> None:
    """R3: each open link has equal surfaces, or neither above its sill. Told here from the rule itself."""
    site = data.draw(layouts(crests=True))
    after = pour(site, {}, data.draw(inflows(site))).contents
    assert is_at_rest(site, after)
    surface = {name: tank.base + tank.depth(after[name]) for name, tank in site.tanks.items()}
    for one in site.tanks:
        for other, sill in sills_from(site, one).items():
            if one != other and after[one] > 0.0 and surface[one] > sill + 1e-6:
                assert surface[other] == pytest.approx(surface[one], abs=2e-6)


@LAW
@given(st.data())
def test_order_of_pouring_does_not_matter_where_the_end_is_unique(data: st.DataObject) -> None:
    site = data.draw(UNEVEN)
    inflow = data.draw(inflows(site))
    together = pour(site, {}, inflow)
    contents: dict[str, float] = {}
    spilled = 0.0
    for name, volume in data.draw(st.permutations(sorted(inflow.items()))):
        step = pour(site, contents, {name: volume})
        contents, spilled = step.contents, spilled + total(step.spilled)
    assert spilled == close(total(together.spilled))
    for name, volume in together.contents.items():
        assert contents.get(name, 0.0) == pytest.approx(volume, abs=1e-6)


@LAW
@given(st.data())
def test_more_rain_never_leaves_less_in_any_tank(data: st.DataObject) -> None:
    site = data.draw(UNEVEN)
    before, inflow, more = data.draw(held(site)), data.draw(inflows(site)), data.draw(inflows(site))
    less = pour(site, before, inflow)
    rest = {name: inflow.get(name, 0.0) + more.get(name, 0.0) for name in site.tanks}
    grown = pour(site, before, rest)
    for name in site.tanks:
        assert grown.contents[name] >= less.contents[name] - 1e-6
    assert total(grown.spilled) >= total(less.spilled) - 1e-6


@LAW
@given(st.data())
def test_renaming_tanks_changes_nothing(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    inflow = data.draw(inflows(site))
    order = data.draw(st.permutations(list(site.tanks)))
    new = {name: f"x{place}" for place, name in enumerate(order)}
    renamed = Layout(
        {
            new[name]: replace(
                site.tanks[name],
                id=new[name],
                overflow_to=new.get(site.tanks[name].overflow_to or ""),
            )
            for name in order
        },
        {
            key: replace(link, joins=tuple(new[name] for name in link.joins))
            for key, link in site.links.items()
        },
        {key: replace(outlet, tank=new[outlet.tank]) for key, outlet in site.outlets.items()},
        {key: replace(roof, fills=new[roof.fills]) for key, roof in site.roofs.items()},
    )
    one = pour(site, {}, inflow)
    other = pour(renamed, {}, {new[name]: volume for name, volume in inflow.items()})
    for name in site.tanks:
        assert other.contents[new[name]] == pytest.approx(one.contents[name], abs=1e-8)
        assert other.spilled.get(new[name], 0.0) == pytest.approx(one.spilled.get(name, 0.0), abs=1e-8)
    assert lost_to_bases(renamed) == close(lost_to_bases(site))
    assert headroom(renamed, other.contents) == pytest.approx(headroom(site, one.contents), abs=1e-7)


# Finding the level (R3)


@LAW
@given(st.data())
def test_water_at_rest_stays_to_the_last_drop(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    assert settle(site, contents) == {name: contents.get(name, 0.0) for name in site.tanks}


@LAW
@given(st.data())
def test_opening_every_valve_loses_no_litre_and_ends_level(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = {name: tank.lip_volume * data.draw(st.floats(0.0, 1.0)) for name, tank in site.tanks.items()}
    end = settled(site, contents)
    assert is_at_rest(site, end.contents)
    assert total(end.contents) + total(end.spilled) == close(total(contents))


@settings(max_examples=200)
@given(st.data())
def test_one_surface_agrees_with_a_root_finder(data: st.DataObject) -> None:
    """`scipy.optimize.brentq` on the sum of volumes, on 200 random banks joined at their floors."""
    from scipy.optimize import brentq

    count = data.draw(st.integers(2, 5))
    tanks = {
        f"t{place}": Tank(f"t{place}", data.draw(shapes), base=data.draw(st.floats(-0.3, 0.3)), brim=1.0)
        for place in range(count)
    }
    links = {
        f"l{place}": Link(f"l{place}", (f"t{place}", f"t{place + 1}"), (0.0, 0.0))
        for place in range(count - 1)
    }
    site = Layout(tanks, links)
    lowest_brim = min(tank.base + tank.brim for tank in tanks.values())
    highest_floor = max(tank.base for tank in tanks.values())
    level = data.draw(st.floats(highest_floor + 0.01, lowest_brim - 0.01))
    volume = sum(tank.volume_at(level) for tank in tanks.values())
    # All of it is poured into one tank; the others get theirs through the links.
    end = pour(site, {}, {data.draw(st.sampled_from(sorted(tanks))): volume})
    assert not end.spilled

    def miss(height: float) -> float:
        return sum(tank.volume_at(height) for tank in tanks.values()) - volume

    root = brentq(miss, -0.3, lowest_brim, xtol=1e-13, rtol=1e-14)
    for name, tank in tanks.items():
        assert end.contents[name] == pytest.approx(tank.volume_at(root), abs=1e-9)
    assert OneSurface(tanks.values()).height(volume) == pytest.approx(root, abs=1e-7)


# Drawing (R10)


@LAW
@given(st.data())
def test_litres_never_appear_or_vanish_while_drawing(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    asked = data.draw(st.just(0.0) | st.floats(0.0, 5.0))
    outcome = draw(site, contents, "tap", asked)
    assert outcome.drawn + outcome.short == pytest.approx(asked, rel=1e-12)
    assert outcome.drawn >= 0.0
    assert outcome.short >= 0.0
    assert total(contents) - total(outcome.contents) == close(outcome.drawn)
    assert is_at_rest(site, outcome.contents)
    for name in site.tanks:
        assert outcome.contents[name] <= contents.get(name, 0.0) + 1e-12


@LAW
@given(st.data())
def test_an_outlet_gives_what_is_usable_and_no_more(data: st.DataObject) -> None:
    """R7 and R10 say the same from two sides."""
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    promised = total(usable(site, contents, ["tap"]))
    outcome = draw(site, contents, "tap", 1e3)
    assert outcome.drawn == pytest.approx(promised, abs=1e-8)
    assert total(usable(site, outcome.contents, ["tap"])) == pytest.approx(0.0, abs=1e-8)


@LAW
@given(st.data())
def test_drawing_twice_is_drawing_once(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    first, second = data.draw(st.floats(0.0, 1.0)), data.draw(st.floats(0.0, 1.0))
    twice = draw(site, draw(site, contents, "tap", first).contents, "tap", second).contents
    once = draw(site, contents, "tap", first + second).contents
    for name in site.tanks:
        assert twice[name] == pytest.approx(once[name], abs=1e-8)


@LAW
@given(st.data())
def test_a_transfer_keeps_every_litre(data: st.DataObject) -> None:
    site = data.draw(layouts(crests=True))
    contents = pour(site, {}, data.draw(inflows(site))).contents
    source, target = (
        data.draw(st.sampled_from(sorted(site.tanks))),
        data.draw(st.sampled_from(sorted(site.tanks))),
    )
    moved = transfer(site, contents, source, target, data.draw(st.floats(0.0, 2.0)))
    assert total(moved.contents) + total(moved.spilled) == close(total(contents))


# Holding (R6 to R8)


@LAW
@given(st.data())
def test_when_full_every_further_drop_spills(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    when_full = full(site)
    assert is_at_rest(site, when_full)
    rain = {roof.fills: data.draw(st.floats(0.001, 1.0)) for roof in site.roofs.values()}
    more = pour(site, when_full, rain)
    assert total(more.spilled) == close(total(rain))
    assert headroom(site, when_full) == pytest.approx(0.0, abs=1e-9)
    assert set(never_fills(site)) == {name for name, volume in when_full.items() if volume == 0.0}


@LAW
@given(st.data())
def test_headroom_is_what_comes_in_before_the_first_drop_runs_away(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    room = headroom(site, contents)
    assert room >= 0.0
    alone = next(iter(site.roofs.values()))
    one_roof = replace(site, roofs={"only": alone})
    reached = set(sills_from(site, alone.fills))
    elsewhere = [bank for bank in banks(site) if reached.isdisjoint(bank)]
    assume(not elsewhere and all(tank.overflow_to is None for tank in site.tanks.values()))
    room = headroom(one_roof, contents)
    assert not pour(site, contents, {alone.fills: room * (1 - 1e-6)}).spilled
    # A neighbour over an equal sill may still take its share of what follows the first drop, but never all of it.
    spilled = total(pour(site, contents, {alone.fills: room + 0.001}).spilled)
    assert 1e-6 < spilled <= 0.001 + 1e-6


@LAW
@given(st.data())
def test_closing_a_valve_never_raises_what_is_usable(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    open_links = [key for key, link in site.links.items() if link.is_open]
    assume(open_links)
    key = data.draw(st.sampled_from(open_links))
    shut = replace(site, links=site.links | {key: replace(site.links[key], is_open=False)})
    before, after = usable(site, contents), usable(shut, contents)
    for name in site.tanks:
        assert after[name] <= before[name] + 1e-12


@LAW
@given(st.data())
def test_raising_a_base_never_raises_what_the_others_hold_when_full(data: st.DataObject) -> None:
    """A bank joined low down and filled at every tank: its lowest lip caps all, and a raised tank only takes less."""
    count = data.draw(st.integers(2, 5))
    tanks = [
        Tank(f"t{place}", data.draw(shapes), base=data.draw(uneven) * 0.3, brim=1.0) for place in range(count)
    ]
    header = Link("header", tuple(tank.id for tank in tanks), (0.05,) * count)
    raised = replace(tanks[0], base=tanks[0].base + data.draw(st.floats(0.0, 0.3)))
    before = full(Layout({tank.id: tank for tank in tanks}, {"header": header}))
    after = full(Layout({tank.id: tank for tank in [raised, *tanks[1:]]}, {"header": header}))
    lowest = min(tank.lip_elevation for tank in tanks[1:])
    if tanks[0].lip_elevation >= lowest:
        for tank in tanks[1:]:
            assert after[tank.id] <= before[tank.id] + 1e-9
        assert after["t0"] <= before["t0"] + 1e-9


# One dip (R4)


@LAW
@given(st.data())
def test_one_dip_finds_the_water_again_or_bounds_it(data: st.DataObject) -> None:
    """Whatever stands there at rest, a dip of one tank gives back each other tank or a range that holds it."""
    site = data.draw(layouts(overflows=False))
    contents = data.draw(held(site))
    name = data.draw(st.sampled_from(sorted(site.tanks)))
    depth, reach = site.tanks[name].depth(contents[name]), sills_from(site, name)
    # Right at a sill the rule takes the neighbour as level with it (R4, R17); it may stand lower.
    assume(all(abs(site.tanks[name].base + depth - sill) > 0.002 for sill in reach.values()))
    told = at_rest(site, {name: depth})
    for other, tank in told.tanks.items():
        slack = (
            0.0015 * site.tanks[other].shape.area(min(1.0, site.tanks[other].depth(contents[other]))) + 0.005
        )
        if tank.volume is not None:
            assert tank.volume == pytest.approx(contents[other], abs=slack)
        else:
            assert tank.low - slack <= contents[other] <= tank.high + slack
        if other not in reach:
            # One whose floor lies no lower than where its own pool spills holds nothing, dipped or not (R6).
            assert tank.state == "unknown" or tank.high == 0.0


@LAW
@given(st.data())
def test_pools_of_water_at_rest_are_what_shares_a_surface(data: st.DataObject) -> None:
    site = data.draw(EVEN)
    contents = data.draw(held(site))
    seen: list[str] = []
    for pool in pools(site, contents):
        seen += pool.tanks
        for name in pool.tanks:
            tank = site.tanks[name]
            assert tank.volume_at(pool.surface) == pytest.approx(contents[name], abs=1e-5)
        assert pool.spills_at in site.tanks
    assert sorted(seen) == sorted(name for name, volume in contents.items() if volume > 0.0)


@LAW
@given(st.data())
def test_a_lost_prime_is_told_once_and_then_stays_lost(data: st.DataObject) -> None:
    site = data.draw(layouts(crests=True))
    contents = pour(site, {}, data.draw(inflows(site))).contents
    broken = with_primes_lost(site, contents)
    assert unprimed_by(broken, contents) == set()
    assert {key for key in site.links if broken.links[key] != site.links[key]} == unprimed_by(site, contents)
    again = with_primes_lost(broken, full(broken))
    assert all(again.links[key].primed is False for key in unprimed_by(site, contents))
