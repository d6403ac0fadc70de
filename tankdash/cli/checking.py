"""The command that looks the site file over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.describing import height, litres, warning_lines
from tankdash.cli.text import table

if TYPE_CHECKING:
    from tankdash.site.model import SiteTank
    from tankdash.site.problems import Problem


def _check(call: Call) -> int:
    from tankdash.site import check, load
    from tankdash.site.problems import SiteError

    try:
        site = call.site = load(call.site_path, afresh=True)
    except SiteError as refused:
        if call.wants_json:
            call.give({"problems": [_problem(problem) for problem in refused.problems], "warnings": []})
        raise
    from tankdash.site.loads import weight_when_full
    from tankdash.units import format_mass
    from tankdash.water.holding import full, lost_to_bases

    warnings = check(site)
    layout = call.desk.standing(call.now).layout
    holds = full(layout)
    lost = lost_to_bases(layout) * 1000.0
    if call.wants_json:
        call.give(
            {
                "problems": [],
                "warnings": [{"code": warning.code, "text": warning.text} for warning in warnings],
                "tanks": {
                    key: {
                        "capacity_l": round(tank.capacity * 1000.0, 4),
                        "lip_m": round(tank.lip_elevation, 6),
                        "full_l": round(holds.get(key, 0.0) * 1000.0, 4),
                        "lost_l": round(max(0.0, tank.lip_volume - holds.get(key, 0.0)) * 1000.0, 4),
                        **_load(site.tanks[key]),
                    }
                    for key, tank in layout.tanks.items()
                },
                "lost_to_bases_l": round(lost, 4),
            }
        )
        return 0
    call.say(f"{site.name}: the site file is sound. Datum: {site.datum or 'not described'}.", "")
    rows = [
        (
            key,
            litres(site, tank.capacity * 1000.0),
            height(site, tank.base),
            height(site, tank.lip_elevation),
            litres(site, holds.get(key, 0.0) * 1000.0),
            litres(site, max(0.0, tank.lip_volume - holds.get(key, 0.0)) * 1000.0),
            format_mass(weight_when_full(site.tanks[key]), site.units),
        )
        for key, tank in layout.tanks.items()
    ]
    call.say_all(
        table(("tank", "to the brim", "base", "lip", "when full", "lost", "weighs"), rows, right=range(1, 7))
    )
    if lost > 0.5:
        call.say("", f"Lost to uneven bases: {litres(site, lost)}.")
    if warnings:
        call.say("")
        call.say_all(warning_lines(warning.text for warning in warnings))
    return 0


def _problem(problem: Problem) -> dict[str, Any]:
    return {"file": problem.file, "line": problem.line, "key": problem.key, "text": problem.sentence}


def _load(tank: SiteTank) -> dict[str, float | None]:
    """Return what a tank weighs when full and how hard it presses, for the JSON of `check`."""
    from tankdash.site.loads import pressure_when_full, weight_when_full

    pressure = pressure_when_full(tank)
    return {
        "load_kg": round(weight_when_full(tank), 1),
        "pressure_kpa": None if pressure is None else round(pressure / 1000.0, 3),
    }


COMMANDS = (
    Command(
        "check",
        "look the site file over",
        "Reads the site file and prints every problem at once, each with its line (exit code 2), or "
        "else what to know about a sound one: per tank its capacity, lip and what uneven bases cost, "
        "and warnings.",
        ("tankdash check", "tankdash check --site garden.yaml --json"),
        _check,
    ),
)
