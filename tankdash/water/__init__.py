"""The water itself: a handbook in the order in which one thing rests on another. Pure, SI, no files, no clock.

What is there
    `model` (tanks, links, outlets, roofs, a layout of them), `shapes` and `measured` (volume against depth, R17),
    `readings` (what a stick, a tape or a gauge says), `errors` (the one error, and its guards).
Standing water
    `sills` (which tanks a link joins, and above which height: R2), `joining` (what belongs together), `pools` (tanks
    at one surface, and where they spill: R3, R6), `one_surface` (level from volume through several tanks, R16),
    `rest` (what one dip tells of every tank: R4, R5), `air` (a tank that cannot breathe, R11).
Filling and drawing, slowly enough that every pool keeps one surface
    `filling` (water poured in, water let find its level: R9) by way of `merging`, `rising`, `clocks` and `overflows`;
    `holding` (full, usable, headroom, lost to bases: R6 to R8); `drawing_off` (R10); `priming` (siphons that stop).
Flow, where time matters
    `friction` (Darcy, R12) and `flowtable`; `openings` and `emptying` (holes, taps, overflows, and how long they take);
    `currents` (all links at given surfaces), `lips` (what runs over), `steps` with `elimination` (through time);
    `settling` (how long to stand level), `steady` and `carrying` (what a storm asks of each pipe), `storm` (which tank
    spills first).
Rain and need
    `catch` (what of a rain reaches the tank) and `first_flush` (the pipe before it), R13; `daily` (the balance of days,
    R18); `evapotranspiration` (what a bed asks for).

Signs
    z, elevation: height above the datum, [m]. h, depth, gap, head: [m]. A, area: [m2]. V, volume, contents: [m3].
    Q, flow: [m3/s]. D, bore: inside diameter, [m]. L, run: [m]. K, losses: sum of loss coefficients, [-].
    f: Darcy, not Fanning, friction factor, [-]. Cd: discharge coefficient, [-]. Heights inside a tank are above its own
    floor, all others above the datum: surface = base + depth (R1).

What it leaves out
    The water is cold, clean and everywhere as dense; tanks are stiff; pipes run full and their water has no inertia, so
    that nothing sloshes or hammers. Losses in fittings are good to a third, friction to a few percent, a runoff
    coefficient to a tenth, if the roof is like the book's. What follows from guessed figures is no better than the
    guess: ranges are carried through, and what nobody can know is a range. Nothing here says whether a stand, a wall or
    a soil carries what stands on it.

Sources stand where they are used, with table or page; the tests quote the figures they were checked against.
"""
