"""What the fields of the forms for the journal ask for."""

from __future__ import annotations

from tankdash.tui.wants.want import Want

_WHEN = Want(
    "When",
    "now, or today 7:30, monday 18:00, 2026-05-03 7:30",
    "The time it happened or was read, on the garden's clock. A weekday is the last one gone by; a time alone "
    "is of today. Nothing still to come can be entered.",
    "now",
    ("now", "today 0:05", "yesterday 18:00", "monday 18:00", "2026-05-03 7:30"),
)
_NOTE = Want(
    "Note",
    "anything worth remembering; may stay empty",
    "Words of your own that go with the entry: who read it, what was odd. The log finds them again.",
    "no note",
    ("read by torch", "stick slipped, read twice"),
    is_free=True,
)
_VOLUMES = ("30", "30 L", "0.5 m3", "2 cu ft")
_GALLONS = ("8", "8 US gal", "8 imp gal", "30 L", "2 cu ft")
_OUTLET = Want(
    "From which outlet",
    "left and right choose",
    "The tap or pump the water came out of. It tells from which tanks, and whether so much could have come. "
    "'Not said' is enough where there is only one.",
)
_BED = Want(
    "For which bed",
    "left and right choose",
    "What was watered, so that the log can tell. 'Not said' is enough.",
)

ENTRY_WANTS: dict[str, dict[str, Want]] = {
    "dip": {
        "reading": Want(
            "Reading",
            "{how}; digits are {unit}",
            "What the stick shows: the wet length from the floor up, or in a tank read from the brim the dry "
            "gap down to the water. Write gap or depth before it for the other way round. Two ends are a range.",
            "this tank was not read",
            ("84", "84 cm", "0.84 m", "33 in", "80-84 cm", "gap 20", "depth 84 cm"),
            ("33", "31 1/2 in", "2' 7 1/2\"", "31-32 in", "80 cm", "gap 8", "depth 31 in"),
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "rain": {
        "depth": Want(
            "In the gauge",
            "digits are {unit}; or such as 60-90 mm, 0.42 in, trace",
            "What the gauge shows. A range where you cannot tell, more than where it ran over, trace where it "
            "is only wet, 0 for a dry day, which is worth writing down too.",
            "",
            ("12", "12.5 mm", "60-90 mm", ">140 mm", "trace", "0", "0.42 in"),
            ("0.42", "0.42 in", "2-3 in", ">5.5 in", "trace", "0", "12 mm"),
        ),
        "left_in": Want(
            "The gauge",
            "if it was left, the next reading counts from this one",
            "Whether you emptied it. Water left in it is in the next reading too and must not be counted twice.",
            choices={
                "": ("was emptied", "the next reading starts from nothing"),
                "yes": ("was left as it is", "only what the next one shows beyond this counts then"),
            },
        ),
        "days": Want(
            "Sum of how many days",
            "empty: since the last reading, one day at most",
            "For a gauge not read for a while: how many days this is the rain of. The days of a sum stay "
            "unknown one by one, the total is right.",
            "since the gauge was last read, one day at most",
            ("1", "3", "14"),
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "frost": {
        "low": Want(
            "Lowest temperature",
            "digits are {unit}; a minus for below zero",
            "The lowest temperature of the forecast. Chores that wait for frost open when it is at or under "
            "theirs.",
            "",
            ("-1", "-3 C", "0", "30 F"),
            ("28", "30 F", "-1 C"),
        ),
        "night": Want(
            "Which night",
            "the day on which it begins: today, or 2026-11-03",
            "The evening the cold night begins on.",
            "tonight",
            ("today", "tomorrow", "2026-11-03"),
        ),
        "note": _NOTE,
    },
    "use": {
        "volume": Want(
            "How much was drawn",
            "digits are {unit}; another unit may be typed",
            "All that was drawn since the last entry: cans times their size is near enough.",
            "",
            _VOLUMES,
            _GALLONS,
        ),
        "outlet": _OUTLET,
        "bed": _BED,
        "at": _WHEN,
        "note": _NOTE,
    },
    "tap": {
        "what": Want(
            "What was done",
            "left and right choose",
            "A tap left running is written down twice, when it opens and when it closes.",
            choices={
                "open": ("opened", "it runs from that time on"),
                "close": ("closed", "what ran out until then is taken off"),
            },
        ),
        "outlet": _OUTLET,
        "bed": _BED,
        "rate": Want(
            "Rate, when closing",
            "if you measured it, such as 10 L/min; else leave it empty",
            "How fast it ran: hold a can of known size under it and look at a watch. Without it what ran out "
            "lies between nothing and all the outlet could give, until the next dip tells.",
            "not measured",
            ("10 L/min", "0.2 L/s", "600 L/h"),
            ("3 US gal/min", "2.5 imp gal/min", "10 L/min"),
        ),
        "volume": Want(
            "How much, when closing",
            "if you know it; digits are {unit}",
            "What ran out in all, as a meter or the cans tell it.",
            "by its rate and the time it ran",
            _VOLUMES,
            _GALLONS,
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "move": {
        "volume": Want(
            "How much was moved",
            "digits are {unit}; another unit may be typed",
            "What the pump or the buckets carried. More than the first tank can give is refused.",
            "",
            _VOLUMES,
            _GALLONS,
        ),
        "source": Want("Out of", "left and right choose", "The tank it was taken from."),
        "target": Want("Into", "left and right choose", "The tank it was brought to."),
        "at": _WHEN,
        "note": _NOTE,
    },
    "pump": {
        "what": Want(
            "What was done",
            "left and right choose",
            "A pump left running is written down twice, when it is switched on and when it is off.",
            choices={
                "on": ("switched on", "it runs from that time on"),
                "off": ("switched off", "what it moved until then is counted"),
            },
        ),
        "source": Want("Out of", "left and right choose", "The tank the pump takes from."),
        "target": Want("Into", "left and right choose", "The tank that the pump fills."),
        "rate": Want(
            "How fast it runs",
            "if you know it, such as 50 L/min; else leave it empty",
            "From its plate, or a can and a watch. Without it, and without the litres when it is off, what it moved "
            "lies between nothing and all it could get, until the next dip tells.",
            "not known",
            ("50 L/min", "0.8 L/s", "3000 L/h"),
            ("13 US gal/min", "11 imp gal/min", "50 L/min"),
        ),
        "volume": Want(
            "How much, when off",
            "if you know it; digits are {unit}",
            "What it moved in all. More than the first tank can have given is refused.",
            "by its rate and the time it ran",
            _VOLUMES,
            _GALLONS,
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "pour": {
        "volume": Want(
            "How much came in",
            "digits are {unit}; empty if it was only noticed",
            "Water the rain gauge knows nothing of.",
            "it was only noticed: the tank may hold any amount more, until the next dip tells",
            _VOLUMES,
            _GALLONS,
        ),
        "tank": Want("Into", "left and right choose", "The tank it ran into."),
        "what": Want(
            "What it was",
            "left and right choose",
            "Where it came from; the balance names it.",
            choices={
                "hose": ("hose", "from the mains or a neighbour"),
                "melt": ("melt", "snow or ice that went into the tank"),
                "dew": ("dew", "off the roof without rain"),
                "hail": ("hail", "that the gauge did not catch"),
                "other": ("other", "say what in the note"),
            },
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "set": {
        "item": Want(
            "What", "left and right choose", "The link, roof, tank, outlet or whole garden that was changed."
        ),
        "state": Want(
            "Is now",
            "left and right choose",
            "How it is from that time on; before it the journal keeps the old state.",
        ),
        "base": Want(
            "Height of a base",
            "only for a base: above the datum, digits are {unit}",
            "How high the inside floor of the tank stands above the datum, measured anew. From that time on the "
            "water is reckoned with it, and before it with the old one.",
            "nothing about a base",
            ("12", "12.5 cm", "-3 cm", "0"),
            ("5", "5 1/4 in", "-1 in", "0"),
        ),
        "at": _WHEN,
        "note": _NOTE,
    },
    "note": {
        "note": Want(
            "What you saw",
            "in your own words",
            "Anything that may explain a dip one day: a leaf in the inlet, a neighbour who took two cans.",
            "only the overflow was looked at",
            ("a frog lives in the south tote", "inlet screen torn"),
            is_free=True,
        ),
        "about": Want(
            "The overflow",
            "did water run from it?",
            "Whether water ran over in a heavy rain: the only sign that full tanks were reached at all.",
            choices={
                "": ("not looked", "nothing follows from it"),
                "yes": ("it ran", "the tanks were full then"),
                "no": ("it was dry", "they were not full, or the inlet is blocked"),
            },
        ),
        "at": _WHEN,
    },
    "search": {
        "words": Want(
            "Words",
            "such as rain, north, may, leaf screen",
            "Entries that hold all of these words are listed: in what was typed, in its meaning, in its note or "
            "its date.",
            "everything is listed",
            ("rain", "north 60", "2026-05", "leaf screen"),
            is_free=True,
        )
    },
}
"""By form and field. Fields that come once for each tank stand here once."""
