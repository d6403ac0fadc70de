"""Commands that write down water moved by hand: drawn, left running, pumped from tank to tank, poured in."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.noting import note_down
from tankdash.cli.options import Together
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from tankdash.journal.entries import Record


# Use


def _use_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "volume",
        nargs="*",
        action=Together,
        metavar="VOLUME",
        help="how much was drawn, such as 9L or 2 US gal",
    )
    parser.add_argument(
        "--outlet", metavar="ID", help="from which outlet, where there are several, such as tap"
    )
    parser.add_argument("--bed", metavar="ID", help="for which bed, such as tomatoes")
    running = parser.add_mutually_exclusive_group()
    running.add_argument("--start", action="store_true", help="the outlet was opened and is left running")
    running.add_argument(
        "--stop", action="store_true", help="the running outlet was closed; VOLUME where it is known"
    )
    parser.add_argument(
        "--rate", metavar="Q", help="with --stop: how fast it ran, such as 10L/min, if measured"
    )


def _use(call: Call) -> int:
    args = call.args
    typed = args.volume
    if args.start and typed:
        raise UsageError(
            "How much ran is told once it is closed: `use --start` now, and later `use 90L --stop`."
        )
    if not (args.start or args.stop or typed):
        raise UsageError("How much was drawn? Write it as `use 9L`, or `use --start` and later `use --stop`.")
    for option, group in (("--outlet", call.site.outlets), ("--bed", call.site.beds)):
        for name in (word for word in (typed or "").split() if word in group):
            volume = " ".join(word for word in typed.split() if word != name) or "9L"
            raise UsageError(
                f"Which one it was stands after {option}: `tankdash use {volume} {option} {name}`."
            )
    if args.rate and not args.stop:
        raise UsageError("--rate goes with --stop: it says how fast the outlet ran.")

    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.drawing_off import enter_tap_close, enter_tap_open, enter_use

        standing = call.desk.standing(call.at)
        if args.start:
            return enter_tap_open(call.site, standing, args.outlet, args.bed)
        if args.stop:
            return enter_tap_close(call.site, standing, args.outlet, args.rate, typed)
        return enter_use(call.site, standing, typed, args.outlet, args.bed)

    said = [typed] if typed else []
    said += [option for option, is_given in (("--start", args.start), ("--stop", args.stop)) if is_given]
    for option, value in (("--outlet", args.outlet), ("--bed", args.bed), ("--rate", args.rate)):
        if value is not None:
            said.append(f"{option} {value}")
    return note_down(call, understand, " ".join(said))


# Move and pour


class VolumeFromTo(Together):
    """Takes a volume that was typed unquoted and the two tanks after it; a running pump may leave some of them out."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Keep the words, and what they are when all are there."""
        super().__call__(parser, namespace, values, option_string)
        said = getattr(namespace, self.dest).split()
        namespace.said = said
        namespace.volume = " ".join(said[:-2])
        namespace.source, namespace.target = said[-2:] if len(said) > 1 else ("", "")


def _move_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "volume",
        nargs="*",
        action=VolumeFromTo,
        metavar="VOLUME FROM TO",
        help="how much, the tank it was taken from and the tank it was put into, such as 100L north upper",
    )
    running = parser.add_mutually_exclusive_group()
    running.add_argument(
        "--start", action="store_true", help="a pump FROM TO was switched on and is left running"
    )
    running.add_argument(
        "--stop", action="store_true", help="the running pump was switched off; VOLUME where it is known"
    )
    parser.add_argument(
        "--rate", metavar="Q", help="with --start or --stop: how fast it runs, such as 50L/min, if known"
    )


def _move(call: Call) -> int:
    args = call.args
    if args.rate and not (args.start or args.stop):
        raise UsageError("--rate goes with --start or --stop: it says how fast the pump runs.")
    if args.start and (args.volume or not args.target):
        raise UsageError("--start takes two tanks and no volume: write it as `move --start north upper`.")
    if not (args.start or args.stop or args.volume):
        raise UsageError(
            "How much was moved, and where? VOLUME FROM TO is asked for: `move 100L north upper`."
        )
    has_tanks = args.start or not args.stop or _ends_with_tanks(call)
    volume, (source, target) = args.volume, (args.source, args.target)
    if not has_tanks:
        volume, source, target = " ".join(args.said), None, None

    def understand(call: Call) -> Record:
        from tankdash.keeping.entering import drawing_off

        standing = call.desk.standing(call.at)
        if args.start:
            return drawing_off.enter_pump_start(call.site, standing, source, target, args.rate)
        if args.stop:
            return drawing_off.enter_pump_stop(call.site, standing, volume, source, target, args.rate)
        return drawing_off.enter_move(call.site, standing, volume, source, target)

    said = ["--start"] * args.start + ["--stop"] * args.stop + args.said
    return note_down(call, understand, " ".join(said + (["--rate", args.rate] if args.rate else [])))


def _ends_with_tanks(call: Call) -> bool:
    """Return whether the last two words are tanks of the garden."""
    return len(call.args.said) > 1 and set(call.args.said[-2:]) <= call.tank_names


def _pour_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "volume",
        nargs="+",
        action=Together,
        metavar="VOLUME",
        help="how much, such as 40L or 10 US gal; '?' when it was only noticed",
    )
    parser.add_argument("tank", metavar="TANK", help="the tank it went into, such as north")
    parser.add_argument(
        "--what", metavar="WHAT", help="where it came from: hose (the default), melt, dew, hail, ..."
    )


def _pour(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.drawing_off import enter_pour

        args = call.args
        return enter_pour(call.site, call.desk.standing(call.at), args.volume, args.tank, args.what)

    what = f" --what {call.args.what}" if call.args.what else ""
    return note_down(call, understand, f"{call.args.volume} {call.args.tank}{what}")


COMMANDS = (
    Command(
        "use",
        "record water drawn, or a tap opened and closed",
        "Records a draw. For water that ran by itself, note when the outlet was opened and when it "
        "was closed, with the litres or the rate where you know them. Without either what is held reaches from nothing "
        "drawn to all the outlet can give, until the next dip tells.",
        (
            "tankdash use 9L",
            "tankdash use 20L --bed tomatoes",
            "tankdash use --start --at 'today 17:00'",
            "tankdash use --stop --rate 10L/min",
            "tankdash use 90L --stop",
        ),
        _use,
        _use_arguments,
        is_recording=True,
    ),
    Command(
        "move",
        "record a transfer between tanks",
        "Records water moved from one tank to another by pump or bucket. More than the first can give "
        "is refused.\n\n"
        "A pump that is left running is noted with --start and, once it is off, --stop. Until then every answer "
        "says how long it has been on and how soon the other tank is full, and what is held reaches from nothing "
        "moved to all it can have moved.",
        (
            "tankdash move 100L north upper",
            "tankdash move --start north upper --rate 50L/min",
            "tankdash move --stop",
            "tankdash move --stop 900L",
        ),
        _move,
        _move_arguments,
        is_recording=True,
    ),
    Command(
        "pour",
        "record water from elsewhere",
        "Records water that came into a tank from elsewhere than its roofs, so that it is not taken "
        "for rain or for a wrong reading later.",
        (
            "tankdash pour 40L north",
            "tankdash pour 15L north --what melt",
            "tankdash pour '?' north --what dew",
        ),
        _pour,
        _pour_arguments,
        is_recording=True,
    ),
)
