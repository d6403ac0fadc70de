"""What a storm asks of links, overflows and pipes, in one report."""

from __future__ import annotations

import warnings
from datetime import date
from pathlib import Path

import pytest

from tankdash.planning.storm_words import idle_words, links_carried, unmeasured_words
from tankdash.planning.storms import storm_report
from tankdash.site import load_text
from tankdash.water.friction import VISCOSITY, link_flow

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import wntr

DEMO_LIKE = """
site: Two hoses
timezone: UTC
units: metric
datum: the kerb
tanks:
  gate: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  middle: {base: 17 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  hedge: {base: 23 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links:
  short: {join: [gate, middle], ports: 8 cm, bore: 32 mm, run: 60 cm, losses: 2.5}
  long: {join: [middle, hedge], ports: 8 cm, bore: 25 mm, run: 140 cm, losses: 3.5}
outlets: {tap: {tank: hedge, at: 10 cm}}
roofs: {shed: {area: 24 m2, runoff: 1.0, fills: gate}}
"""
F12_TEXT = """
site: Three barrels on half-inch tube
timezone: UTC
units: metric
datum: the paving
tanks:
  first: {base: 10 cm, shape: {kind: straight, holds: 50 US gal, at: 90 cm}}
  second: {base: 0 cm, shape: {kind: straight, holds: 50 US gal, at: 90 cm}}
  third: {base: 0 cm, shape: {kind: straight, holds: 50 US gal, at: 90 cm}}
links:
  tube-1: {join: [first, second], ports: 10 cm, bore: 13 mm, run: 2 m}
  tube-2: {join: [second, third], ports: 10 cm, bore: 13 mm, run: 2 m}
outlets: {tap: {tank: third, at: 5 cm}}
roofs: {house: {area: 22.7 m2, runoff: 1.0, fills: first, first_flush: {holds: 10 L, empties: by hand}}}
"""


def report(text=F12_TEXT, rate=100.0, contents=None, day=date(2026, 6, 1)):
    site = load_text(text)
    return storm_report(site.layout(day), rate, site.accuracy, contents)


def test_F12_the_link_passes_a_third_of_what_comes_and_the_first_barrel_spills():
    """50 US gal in five minutes is 0.63 L/s; half-inch tube passes about 0.20 under 0.8 m (30 % in a garden)."""
    found = report()
    link = found.links["tube-1"]
    assert link.must * 1000 == pytest.approx(0.63, abs=0.005)
    assert link.carries * 1000 == pytest.approx(0.20, rel=0.15)
    assert link.is_short
    assert found.run.first_to_spill == "first"
    assert found.storm_capacity < 0.6 * found.static_capacity
    assert found.half_hour.spilled_with_room > 0.2
    assert found.settle > 600.0


def test_F12_the_raised_first_barrel_never_keeps_its_top():
    """The cap is the lower barrels' rims at 0.9: 10 cm of the first, on its slabs, is never kept after the storm."""
    found = report()
    assert found.static_capacity * 1000 == pytest.approx(189.27 * (3 - 0.1 / 0.9), rel=1e-4)


def test_the_report_closes_with_the_link_law():
    found = report()
    load = found.links["tube-2"]
    layout = load_text(F12_TEXT).layout(date(2026, 6, 1))
    assert link_flow(layout.links["tube-2"], load.head) == pytest.approx(load.must, rel=1e-6)


def test_a_first_flush_pipe_fills_at_the_roofs_rate():
    flush = report().flushes["house"]
    assert flush.fills_in == pytest.approx(10.0 / (22.7 * 100 / 3600))


def test_no_rain_asks_for_nothing():
    found = report(rate=0.0)
    assert found.run.first_to_spill is None
    assert found.flushes["house"].fills_in is None
    assert found.settle == 0.0
    assert found.as_json()["half_hour"] == {"spilled_l": 0.0, "spilled_with_room_l": 0.0}


def test_begun_with_water_there_is_less_room():
    empty, half = report(), report(contents={"first": 0.05, "second": 0.1, "third": 0.1})
    assert half.static_capacity == pytest.approx(empty.static_capacity - 0.25, abs=1e-6)
    assert half.storm_capacity < empty.storm_capacity
    assert half.as_json()["from"] == "now"


def test_a_link_nobody_measured_is_named_and_not_guessed():
    found = report(
        F12_TEXT.replace("ports: 10 cm, bore: 13 mm, run: 2 m}\n  tube-2", "ports: 10 cm}\n  tube-2")
    )
    assert found.links["tube-1"].carries is None
    assert found.run.unmeasured == ("tube-1",)
    assert found.unlooked_at == ()
    assert found.as_json()["links"]["tube-1"]["carries_l_s"] is None
    assert found.settle is None


def test_a_crest_nobody_looked_at_is_named_and_not_said_to_pass_nothing_for_sure():
    plain = "ports: 10 cm, bore: 13 mm, run: 2 m}\n  tube-2"
    text = F12_TEXT.replace(plain, plain.replace("2 m}", "2 m, crest: 140 cm}"))
    assert report(text).unlooked_at == ("tube-1",)
    assert "nobody knows whether its crest is full of water: tube-1" in unmeasured_words(report(text))
    known = report(text.replace("crest: 140 cm", "crest: 140 cm, primed: false"))
    assert unmeasured_words(known) == ""


def test_two_banks_under_two_roofs_have_their_own_capacities():
    text = F12_TEXT.replace(
        "  tube-2: {join: [second, third], ports: 10 cm, bore: 13 mm, run: 2 m}\n", ""
    ).replace("roofs: {", "roofs: {porch: {area: 2 m2, runoff: 1.0, fills: third}, ")
    found = report(text)
    assert [bank.tanks for bank in found.banks] == [("first", "second"), ("third",)]
    third = found.banks[1]
    assert third.static_capacity == pytest.approx(0.18927, rel=1e-4)
    assert third.storm_capacity == pytest.approx(third.static_capacity)
    assert found.banks[0].first_to_spill == "first"
    assert report().banks == ()


def test_the_json_has_the_keys_that_others_rely_on():
    answer = report().as_json()
    assert {"rate_mm_h", "links", "first_to_spill", "settle_s"} <= answer.keys()
    assert {"carries_l_s", "must_l_s", "head_m"} <= answer["links"]["tube-1"].keys()


def test_the_heads_of_a_storm_are_those_of_a_network_engine(tmp_path: Path):
    """`wntr` 1.5 with its EPANET engine, all the rain of the roof running through both hoses to the far tank."""
    site = load_text(DEMO_LIKE)
    layout = site.layout(date(2026, 6, 1))
    found = storm_report(layout, 300.0, site.accuracy)
    assert found.links["short"].must == found.links["long"].must == pytest.approx(300.0 / 3.6e6 * 24.0)
    network = wntr.network.WaterNetworkModel()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # it reminds of roughness units; the wall is smooth
        network.options.hydraulic.headloss = "D-W"
    network.options.hydraulic.accuracy, network.options.hydraulic.trials = 1e-6, 500
    network.options.hydraulic.viscosity = VISCOSITY / (1.1e-5 * 0.3048**2)
    network.options.time.duration = 0
    network.add_junction("gate", base_demand=-found.inflow["gate"], elevation=0.0)
    network.add_junction("middle", base_demand=0.0, elevation=0.0)
    network.add_reservoir("hedge", base_head=10.0)
    for link in layout.links.values():
        network.add_pipe(link.id, *link.joins, length=link.run, diameter=link.bore, minor_loss=link.losses,
                         roughness=1e-9)  # fmt: skip
    heads = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(tmp_path / "run")).node["head"].iloc[0]
    for key, (one, other) in (("short", ("gate", "middle")), ("long", ("middle", "hedge"))):
        theirs = float(heads[one] - heads[other])
        assert found.links[key].head == pytest.approx(theirs, rel=0.03)


def test_what_no_rain_has_to_pass_is_named_and_not_listed_with_noughts():
    """A row of tanks that a pump fills is no answer to a storm on the house."""
    shape = "shape: {kind: straight, holds: 1000 L, at: 1 m}, overflow: 90 cm, overflow_bore: 50 mm"
    tanks = "".join(f"  t{n}: {{base: 0 cm, {shape}}}\n" for n in range(1, 8))
    row = ", ".join(f"t{n}" for n in range(1, 8))
    link = f"  far: {{join: [{row}], ports: 5 cm, bore: 50 mm, run: 1 m}}\n"
    found = report(F12_TEXT.replace("links:\n", f"{tanks}links:\n{link}"))
    told = [one.key for one in links_carried(found, "metric")]
    assert "far" not in told
    assert "tube-1" in told
    assert idle_words(found) == "None of it has to pass far; the overflow of t1, t2, t3, t4 and 3 more."
    assert set(found.as_json()["links"]) == {"far", "tube-1", "tube-2"}


def test_a_link_whose_sill_lies_above_the_lip_passes_nothing_and_is_not_called_narrow():
    joins = "tube-1: {join: [first, second], ports: 10 cm,"
    found = report(F12_TEXT.replace(joins, f"{joins} crest: 3 m, primed: false,"))
    verdicts = {one.key: one.verdict for one in links_carried(found, "metric")}
    assert verdicts["tube-1"] == "passes nothing"
    assert found.links["tube-1"].carries == 0.0
