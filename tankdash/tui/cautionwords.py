"""What each caution says: where stored water can hurt someone, in full for its page and short for the place itself."""

from __future__ import annotations

CAUTIONS: tuple[tuple[str, str, str], ...] = (
    (
        "drinking",
        "Never drinking water",
        "Roof water carries what lands on roofs. Do not drink it, cook with it or fill a pool with it, "
        "and mark every tap so that visitors and children know. Water the soil rather than leaves and "
        "fruit that are eaten raw, and wash the crop with mains water.",
    ),
    (
        "weight",
        "Weight",
        "A litre weighs a kilogram: a full tote is more than a tonne, and it falls over if its base gives "
        "way on one side. Bases, stands and soil must carry the full tank, wet ground included; loose blocks "
        "in a pile are no stand. Never stack tanks that hold water, never stand under a raised one, and have a "
        "stand of any height looked at by somebody licensed to judge it.",
    ),
    (
        "confined",
        "Drowning and closed spaces",
        "Keep lids shut and locked; a small child drowns in very little water. Never put your head or "
        "body into a tank: the air inside may not keep you alive, and the person who climbs after you "
        "dies too. Clean from outside, or hire people who are trained and equipped for closed spaces.",
    ),
    (
        "frost",
        "Frost",
        "Taps, pumps, hoses and first-flush pipes split long before a tank freezes. That a fitting has "
        "outlived one frost is no proof for the next. The frost chores here are a rule of thumb, not a "
        "promise.",
    ),
    (
        "pumps",
        "Pumps and electricity",
        "Mains power near water belongs behind a residual-current device, on outdoor fittings, installed "
        "by a licensed electrician. Switch off and unplug before you touch a pump; never run one dry; "
        "tell the household when a tank is drained.",
    ),
    (
        "mains",
        "Mains water",
        "Never join a rain tank to the mains by any pipe or hose, not even for a moment: water can be "
        "drawn back into the supply. A mains top-up needs an air gap and, in most places, a licensed "
        "plumber.",
    ),
    (
        "history",
        "What the tank held before",
        "Use only tanks that held food, and find out which. If nobody can tell you, or the label names a "
        "chemical, do not use it at all: no washing makes it safe.",
    ),
    (
        "roof",
        "What the roof is made of",
        "Lead flashing and lead paint, asbestos, tar, treated wood and copper get into the water. Where there "
        "is any, or nobody knows, keep it off whatever is eaten and ask locally. Do not climb a roof or a tank "
        "to find out.",
    ),
    (
        "warm",
        "Warm water and spray",
        "Water that stands warm, as in a dark tank or a hose in the sun, can breed legionella, and a fine spray "
        "carries it into the lungs. Let the hose run out first, water at the ground instead of misting, and keep "
        "tanks shaded and closed.",
    ),
    (
        "cleaning",
        "Chlorine and cleaning",
        "Chlorine does not make this water fit to drink. Follow the label, never mix it with an acid or another "
        "cleaner, add it in the open air, and water nothing with it until it has gone.",
    ),
    (
        "permits",
        "Permits and codes",
        "Some places limit what may be collected, stored or let run off, and how an overflow may be led "
        "away. Ask locally before you build. Where this program and a local code or a licensed "
        "professional disagree, they are right.",
    ),
)
"""Id, heading and words of each caution."""


def caution(name: str) -> str:
    """Return the words of one caution.

    Examples
    --------
    >>> caution("mains").startswith("Never join a rain tank")
    True
    """
    return next(words for found, _, words in CAUTIONS if found == name)


SHORT: dict[str, str] = {
    "frost": "A rule of thumb, no promise: fittings split at the first frost, whatever they outlived before.",
    "pump": "Unplug a pump before touching it, and never run it dry.",
    "mains": "Let a hose from the mains end in the air above the tank, never in the water.",
    "edible": "Never drinking water. Water the soil, not leaves and fruit that are eaten raw.",
    "weight": "A litre weighs a kilogram: see that base and stand carry the full tank.",
    "lid": "A tank with no vent can buckle, and its air may kill: never lean in.",
}
"""Cautions said in place, where somebody is about to do the thing."""
