"""What may happen in a garden, drawn at random: journals for the laws that any journal must keep."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, dip, journal, rain, site

from tankdash.journal.entries import Change, Done, Entry, Move, Pour, Record, TapClosed, TapOpened, Use

FLUSHED = THREE_TOTES.replace(
    "fills: north", "fills: north, first_loss: 0.5 mm, first_flush: {holds: 12 L, empties: by hand}"
).replace("roofs:", "chores:\n  pipe: {label: Empty it, after_rain: {at_least: 1 mm}, empties: shed}\nroofs:")
GARDEN = site(FLUSHED)
THIN = site(FLUSHED.replace("bore: 50 mm, run: 60 cm", "bore: 9 mm, run: 4 m"))
"""The same with hoses that need most of a day to level."""
GROWN = site(FLUSHED.replace("south: {base: 23 cm,", "south: {since: 2026-05-12, base: 23 cm,"))
"""The same, but the third tote joins in the second week."""
_LINK = "  middle-south: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm, losses: 2.5}\n"
APART = site(FLUSHED.replace(_LINK, "").rstrip() + "\n  porch: {area: 9 m2, runoff: 0.9, fills: south}\n")
"""The same, but nothing joins the third tote to the other two: each side is dipped by itself."""
SLOWLY_APART = site(
    FLUSHED.replace(_LINK, "").replace("bore: 50 mm, run: 60 cm", "bore: 9 mm, run: 4 m").rstrip()
    + "\n  porch: {area: 9 m2, runoff: 0.9, fills: south}\n"
)
"""The same with a hose that needs most of a day to level."""
TANKS = ("north", "middle", "south")

volumes = st.floats(1.0, 600.0)


KINDS = ("dip", "dip", "rain", "rain", "use", "move", "pour", "set", "tap", "pump", "done")
MOSTLY_READ = ("dip", "dip", "dip", "dip", "rain", "use", "pour", "done", "move", "pump")


@st.composite
def records(draw: st.DrawFn, end: datetime, kinds: Sequence[str] = KINDS) -> Record:
    kind = draw(st.sampled_from(kinds))
    tank = draw(st.sampled_from(TANKS))
    match kind:
        case "dip":
            tanks = draw(st.lists(st.sampled_from(TANKS), min_size=1, max_size=3, unique=True))
            return dip(**{name: draw(st.floats(0.0, 1.0)) for name in tanks})
        case "rain":
            low = draw(st.floats(0.0, 30.0))
            return rain(low, end, draw(st.floats(0.2, 40.0)), low + draw(st.sampled_from([0.0, 0.0, 5.0])))
        case "use":
            return Use(draw(volumes), "tap")
        case "move":
            return Move(draw(volumes), tank, draw(st.sampled_from([name for name in TANKS if name != tank])))
        case "pour":
            return Pour(draw(volumes), tank)
        case "set":
            state = draw(st.sampled_from(["open", "closed"]))
            return draw(
                st.sampled_from(
                    [
                        Change("north-middle", state),
                        Change("middle-south", state),
                        Change(tank, "base", draw(st.floats(0.0, 0.4))),
                        Change("shed", draw(st.sampled_from(["plugged", "open"]))),
                    ]
                )
            )
        case "pump":
            other = draw(st.sampled_from([name for name in TANKS if name != tank]))
            rate = draw(st.sampled_from([None, 0.05]))
            moved = draw(st.sampled_from([None, None, 40.0]))
            return draw(
                st.sampled_from(
                    [
                        TapOpened(source=tank, target=other, rate_l_per_s=rate),
                        TapClosed(source=tank, target=other, volume_l=moved),
                    ]
                )
            )
        case "tap":
            return draw(st.sampled_from([TapOpened("tap"), TapClosed("tap", 0.01), TapClosed("tap")]))
    return Done("pipe")


@st.composite
def journals(draw: st.DrawFn, most: int = 14, kinds: Sequence[str] = KINDS) -> list[Entry]:
    hours = draw(st.lists(st.floats(0.5, 60.0), min_size=2, max_size=most))
    moment, happened = START, []
    for step in hours:
        moment += timedelta(hours=step)
        happened.append((moment, draw(records(moment, kinds))))
    return journal(*happened)
