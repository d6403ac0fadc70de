"""The items of a site file after the schema has read them: what cross checks look at and a site is built from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from tankdash.site.schema import BedPart, ChorePart, LinkPart, OutletPart, Part, RoofPart, SitePart, TankPart


@dataclass(frozen=True)
class Parts:
    """One site file, section by section; keys that could not be read are None in their items."""

    head: SitePart
    """The keys at the top of the file."""
    tanks: Mapping[str, TankPart]
    links: Mapping[str, LinkPart]
    outlets: Mapping[str, OutletPart]
    roofs: Mapping[str, RoofPart]
    beds: Mapping[str, BedPart]
    chores: Mapping[str, ChorePart]

    @classmethod
    def of(cls, head: SitePart, items: Mapping[str, Mapping[str, Part]]) -> Parts:
        """Return the parts from the items of each section, whose models the section decides."""
        return cls(
            head,
            tanks=cast(Mapping[str, TankPart], items["tanks"]),
            links=cast(Mapping[str, LinkPart], items["links"]),
            outlets=cast(Mapping[str, OutletPart], items["outlets"]),
            roofs=cast(Mapping[str, RoofPart], items["roofs"]),
            beds=cast(Mapping[str, BedPart], items["beds"]),
            chores=cast(Mapping[str, ChorePart], items["chores"]),
        )
