"""What is uneven about the garden as it stands today, with the bases the journal knows: said beside the levels."""

from __future__ import annotations

from collections.abc import Iterator

from tankdash.keeping.state.figures import Caution
from tankdash.keeping.state.words import WORTH_A_WORD, label, labels
from tankdash.site.model import Site
from tankdash.units import format_length, format_volume
from tankdash.water.holding import lost_to_bases, never_fills
from tankdash.water.model import Layout
from tankdash.water.sills import banks


def layout_cautions(site: Site, layout: Layout) -> Iterator[Caution]:
    """Yield lips that differ within a bank, and tanks that can never fill (R6, R8)."""
    for bank in banks(layout):
        lips = {key: layout.tanks[key].lip_elevation for key in bank}
        lowest = min(lips.values())
        if len(bank) < 2 or max(lips.values()) - lowest <= site.accuracy:
            continue
        first = [key for key, lip in lips.items() if lip - lowest <= site.accuracy]
        verb = "spills" if len(first) == 1 else "spill"
        apart = format_length(max(lips.values()) - lowest, site.units)
        lost = lost_to_bases(layout, bank)
        cost = (
            f" Room for {format_volume(lost, site.units)} above it is never used."
            if lost > WORTH_A_WORD
            else ""
        )
        yield Caution(
            "lips-differ",
            f"{labels(site, first)} {verb} first: the lips of {labels(site, bank)} differ by {apart}.{cost}",
        )
    for key in never_fills(layout):
        yield Caution("never-fills", f"{label(site, key)} can never fill: nothing that runs in reaches it.")
