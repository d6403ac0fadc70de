"""What the guided setup asks for, and what is asked about a garden that stands."""

from __future__ import annotations

from tankdash.tui.wants.want import Want

GARDEN_WANTS: dict[str, dict[str, Want]] = {
    "setup": {
        "name": Want(
            "What is the garden called",
            "any name",
            "What stands at the top of every page.",
            "My garden",
            ("My garden", "Behind the shed"),
            is_free=True,
        ),
        "units": Want(
            "You measure in",
            "left and right choose",
            "How results are shown, and which gallon a gallon is. Whatever you type carries its unit anyway.",
            choices={
                "metric": ("cm and litres", "metres, litres and degrees Celsius"),
                "us": ("inches, US gallons", "and degrees Fahrenheit"),
                "imperial": ("inches, imperial gallons", "and degrees Celsius"),
            },
        ),
        "count": Want(
            "How many tanks",
            "1 to 12, in the order they stand",
            "All that hold rain for this garden, joined or not, in the order they stand. More are added later.",
            "",
            ("1", "3", "12"),
        ),
        "kind": Want(
            "Kind of a tank",
            "left and right choose",
            "The nearest to yours. It begins with the inside of a common size, which can be measured and put "
            "right later.",
        ),
        "base": Want(
            "How high a tank stands",
            "floor above the mark; digits are {unit}",
            "How high its inside floor stands above the mark all heights are measured from: blocks and the "
            "thickness of the bottom together. A minus where it stands lower. A spirit level or a hose filled "
            "with water helps.",
            "",
            ("20 cm", "-5 cm", "0", "0.4 m"),
            ("8 in", "-2 in", "0", "1 ft"),
        ),
        "joined": Want(
            "From one tank to the next",
            "left and right choose",
            "Whether a pipe or hose low down joins it with the tank before, so that the two share one level; or "
            "only the overflow of the tank before runs into it, as from an upper terrace; or neither.",
        ),
        "link": Want(
            "Links enter how high above the floor",
            "digits are {unit}; empty if nothing is joined",
            "Where the pipe or hose between two tanks goes in, above the inside floor. Below it the tanks part "
            "company.",
            "the tanks are not joined",
            ("8 cm", "0.1 m"),
            ("3 in", "3 1/2 in"),
        ),
        "tap": Want(
            "Tap, how high above the floor",
            "of the last tank of a row; digits are {unit}",
            "Above the inside floor of the last tank of each row of linked ones. What stands below it cannot be "
            "used.",
            "",
            ("10 cm", "0"),
            ("4 in", "0"),
        ),
        "roof_length": Want(
            "Roof that drains into tank 1, length",
            "seen from above, digits are {unit}; empty to leave it out",
            "Of the part of the roof that drains here, as its shadow at noon: level on the ground, not along "
            "the slope.",
            "no roof is written down, and rain brings nothing",
            ("6 m", "600 cm"),
            ("20 ft", "19' 6\""),
        ),
        "roof_width": Want(
            "and its width",
            "level on the ground, not along the slope; digits are {unit}",
            "Likewise, across.",
            "no roof is written down, and rain brings nothing",
            ("4 m", "4.5 m"),
            ("12 ft", "13' 3\""),
        ),
        "datum": Want(
            "Heights are measured from",
            "a mark that will not move",
            "A slab, a step, a bolt in the wall: anything that will be there next year. Say it so that you find "
            "it again.",
            "top of the paving by the first tank",
            ("top of the step by the kitchen door",),
            is_free=True,
        ),
        "timezone": Want(
            "Time zone",
            "such as Europe/Lisbon",
            "The name of the zone the garden lies in; days and clock changes go by it.",
            "UTC",
            ("Europe/Lisbon", "UTC"),
        ),
        "path": Want(
            "Write the file to",
            "a name ending in .yaml",
            "Where the site file goes; the journal will lie beside it. The program finds it there by itself.",
            "",
            ("~/garden.yaml",),
            is_free=True,
        ),
    },
    "garden": {
        "section": Want(
            "What",
            "left and right choose",
            "The part of the garden to look at. What was changed elsewhere meanwhile is kept until Enter writes "
            "it all.",
            choices={
                "tanks": ("tanks", "what holds water"),
                "links": ("links", "pipes and hoses between tanks"),
                "outlets": ("outlets", "taps and pumps"),
                "roofs": ("roofs", "what drains here"),
                "site": ("the garden", "name, datum, accuracy"),
            },
        ),
        "item": Want(
            "Which",
            "left and right choose; + for one more",
            "One of those that stand there, or one more: it is filled with what is likely, to be put right.",
        ),
        "more": Want(
            "One more",
            "left and right choose",
            "It begins with what is likely, to be put right in the fields that then stand below.",
            choices={"": ("no", "nothing is added"), "yes": ("yes, add one", "and look at it")},
        ),
        "stands": Want(
            "It",
            "nothing is lost: the file keeps it",
            "What is taken away stays in the file with today as its last day, so that the journal's readings of "
            "it still have their tank. Only what no entry names can be taken out of the file altogether.",
        ),
        "site": Want(
            "Name of the garden",
            "any name",
            "What stands at the top of every page.",
            "",
            ("Behind the shed",),
            is_free=True,
        ),
        "datum": Want(
            "Heights are measured from",
            "a mark that will not move",
            "In words. Changing the words moves no tank: if the mark itself is another one, every base changes "
            "too.",
            "",
            ("top of the step by the kitchen door",),
            is_free=True,
        ),
        "accuracy": Want(
            "Accuracy of one dip",
            "such as 5 mm",
            "How far two careful readings of the same water lie apart with your stick.",
            "5 mm",
            ("5 mm", "1 cm"),
            ("1/4 in", "5 mm"),
        ),
        "label": Want(
            "Called",
            "any name",
            "What people call it. The id in the file stays.",
            "its id",
            ("North tote",),
            is_free=True,
        ),
        "base": Want(
            "Base",
            "inside floor above the datum",
            "How high the inside floor stands above the datum. Written here it counts for the whole journal, as "
            "if it had always been so: right for a figure that was wrong from the first. A tank that sank, or "
            "was lifted, on a day is an entry instead: leave, and use s.",
            "",
            ("20 cm", "-5 cm", "0"),
            ("8 in", "-2 in", "0"),
        ),
        "shape.kind": Want(
            "Kind",
            "as it is, or the common size of another",
            "Another kind begins with the inside of a common size. Like a base, it counts for the whole "
            "journal; a tank that was replaced is taken away, and the new one is one more.",
        ),
        "measure": Want(
            "Inside",
            "its own measure, with a unit",
            "Measured inside, in the water's place: without walls and frame.",
            "",
            ("100 cm", "1000 L"),
            ("40 in", "275 US gal", "220 imp gal"),
        ),
        "brim": Want(
            "Brim",
            "above the floor; empty: the shape's height",
            "How high the top edge stands above the inside floor.",
            "as high as the shape",
            ("105 cm",),
            ("41 1/2 in",),
        ),
        "overflow": Want(
            "Overflow",
            "above the floor; empty: it has none",
            "The lowest inside point of its overflow pipe, above the inside floor.",
            "it spills over its brim",
            ("95 cm",),
            ("37 in",),
        ),
        "overflow_to": Want(
            "What spills runs",
            "left and right choose",
            "Away, or into another tank that stands lower, as from an upper terrace.",
        ),
        "dip.from": Want(
            "Its stick is read",
            "left and right choose",
            "The wet length from the floor up, or the dry gap from the brim down to the water. It counts for what is "
            "typed from now on: readings in the journal keep their meaning.",
            choices={
                "floor": ("from the floor up", "the wet length"),
                "brim": ("from the brim down", "the dry gap"),
            },
        ),
        "join.0": Want("Joins", "left and right choose", "One of the tanks it joins."),
        "join.1": Want(
            "and",
            "left and right choose",
            "The other tank. Ports that differ are given in this order.",
        ),
        "ports": Want(
            "Ports",
            "above each floor; two differ: 8 cm; 9 cm",
            "How high it enters, above each tank's own floor: one height for both, or one for each in the order "
            "they are joined, with a semicolon between.",
            "",
            ("8 cm", "8 cm; 9 cm"),
            ("3 in", "3 in; 3 1/2 in"),
        ),
        "crest": Want(
            "Crest",
            "above the datum, if it rises on its way",
            "The highest point of a hose that rises above its ports, above the datum. It passes water only "
            "while it is full of water.",
            "it does not rise above its ports",
            ("80 cm",),
            ("32 in",),
        ),
        "bore": Want(
            "Bore",
            "inside diameter; empty: not measured",
            "Inside diameter. With the run it tells how long the tanks take to level.",
            "nobody knows how long levelling takes",
            ("32 mm",),
            ("1 1/4 in",),
        ),
        "run": Want(
            "Run",
            "length; empty: not measured",
            "How long the pipe or hose is.",
            "nobody knows how long levelling takes",
            ("60 cm",),
            ("2 ft",),
        ),
        "valve": Want(
            "Valve",
            "as it usually stands",
            "How it stands while the journal says nothing else. A valve turned on a day is an entry instead: "
            "use s.",
            choices={"open": ("open", "or there is no valve"), "closed": ("closed", "passes nothing")},
        ),
        "tank": Want("On", "left and right choose", "The tank it draws from."),
        "at": Want(
            "Height",
            "above the floor of its tank",
            "How high it sits above the tank's inside floor; for a pump, the height it must not run below.",
            "",
            ("10 cm", "0"),
            ("4 in", "0"),
        ),
        "kind": Want(
            "Kind",
            "left and right choose",
            "A tap gives what stands above it; a pump must not run dry.",
            choices={
                "tap": ("tap", "water runs out by itself"),
                "pump": ("pump", "is refused more than it can reach"),
            },
        ),
        "area": Want(
            "Area",
            "as 24 m2 or 6 x 4 m, level on the ground",
            "Of the part that drains here, seen from above, not along the slope.",
            "",
            ("24 m2", "6 x 4 m"),
            ("240 sq ft", "20 x 12 ft"),
        ),
        "runoff": Want(
            "Runoff",
            "share that runs off; empty: 0.9",
            "Metal about 0.95, tiles 0.75 to 0.90, gravel 0.5 to 0.8. The balance learns it from your dips.",
            "0.9",
            ("0.9", "85 %"),
        ),
        "fills": Want("Fills", "left and right choose", "The tank its downpipe ends in."),
    },
}
"""By form and field. Fields that come once for each tank stand here once."""
