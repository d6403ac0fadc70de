"""The load on each base beside what ground is taken to bear."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tankdash.journal.store import Journal
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.records import enter_dip
from tankdash.planning.loading import loads_of
from tankdash.site import load_text

NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
TOTE = """
site: One tote
timezone: UTC
units: metric
datum: the slab
tanks:
  tote:
    base: 20 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 100 cm
    footprint: 1.0 x 1.2 m
    tare: 60 kg
outlets: {tap: {tank: tote, at: 10 cm}}
"""


def loads(text: str, folder: Path, depth: str | None = None):
    site = load_text(text)
    with Desk(site, Journal.open(folder / "a.journal.db")) as desk:
        if depth:
            dip = enter_dip(site, desk.layout(NOW), {"tote": depth}, NOW)
            desk.record(dip, NOW, f"dip tote {depth}", "", NOW)
        return loads_of(site, desk.layout(NOW), desk.levels(NOW))


def test_a_full_tote_of_1000_litres_presses_as_worked_out(tmp_path):
    """Reference W2 (D): 1000 L at 998.2 kg/m3 and 60 kg of tare on 1.0 x 1.2 m: 1058 kg, 8.65 kPa, 181 psf."""
    [one] = loads(TOTE, tmp_path).tanks
    assert one.full_kg == pytest.approx(1058.2, abs=0.1)
    assert one.pressure == pytest.approx(8650.0, rel=2e-3)
    assert one.pressure / 47.880259 == pytest.approx(181.0, abs=0.5)
    assert one.now_kg is None
    assert one.has_tare


def test_on_four_blocks_it_presses_four_times_as_hard(tmp_path):
    """Reference W2 (D): 275 US gal on four blocks of 7.625 x 15.625 in press with 734 psf."""
    blocks = 4 * 7.625 * 15.625 / 144
    text = TOTE.replace("holds: 1000 L", "holds: 275 US gal").replace("1.0 x 1.2 m", f"{blocks:.6f} sq ft")
    [one] = loads(text, tmp_path).tanks
    assert one.pressure / 47.880259 == pytest.approx(734.0, rel=0.01)


def test_what_it_holds_now_is_weighed_too(tmp_path):
    [one] = loads(TOTE, tmp_path, "50 cm").tanks
    assert one.now_kg == pytest.approx(0.5 * 998.2 + 60.0, abs=0.1)


def test_the_caution_is_never_a_certificate_and_names_the_sum(tmp_path):
    found = loads(TOTE, tmp_path)
    assert found.caution.startswith("All together 1058 kg.")
    assert "never a certificate" in found.caution
    assert found.total_kg == pytest.approx(1058.2, abs=0.1)
    assert found.hardest == found.tanks[0].pressure


def test_a_tank_without_a_footprint_has_no_pressure_and_none_is_made_up(tmp_path):
    found = loads(TOTE.replace("    footprint: 1.0 x 1.2 m\n", ""), tmp_path)
    assert found.tanks[0].pressure is None
    assert found.hardest is None
