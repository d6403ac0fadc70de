"""One entry written, and what it changed told: what the recording commands have in common."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.describing import (
    WORTH_SAYING,
    change_in_litres,
    change_lines,
    since_last_dip,
    total_lines,
    warning_lines,
)
from tankdash.cli.text import plain, wrapped

if TYPE_CHECKING:
    from tankdash.journal.entries import Entry, Record
    from tankdash.keeping.state.levels import Levels

NOTED = "Noted"
"""How the telling of a new entry begins."""


def entry_json(entry: Entry) -> dict[str, object]:
    """Return an entry as JSON."""
    from tankdash.journal.codec import to_plain

    return {
        "number": entry.number,
        "uid": entry.uid,
        "kind": entry.kind,
        "at": entry.at.isoformat(),
        "entered": entry.entered.isoformat(),
        "words": entry.words,
        "note": entry.note,
        "voided_by": entry.voided_by,
        "record": plain(to_plain(entry.record)),
    }


def note_down(call: Call, understand: Callable[[Call], Record], typed: str) -> int:
    """Write one entry and tell what it changed; nothing is written when it is not understood."""
    from tankdash.keeping.entering.records import check_time

    check_time(call.site, call.at, call.now)
    record = understand(call)
    before = call.desk.levels(call.now)
    expected = call.desk.levels(call.at) if call.args.command == "dip" else None
    words_typed = f"{call.args.command} {typed}".strip()
    entry = call.desk.record(record, call.at, words_typed, call.args.note, call.now)
    return tell(call, entry, before, NOTED, expected)


def tell(call: Call, entry: Entry, before: Levels, did: str, expected: Levels | None = None) -> int:
    """Say what an entry did to the water of now; for a dip, held against what was expected at its time.

    What the tanks hold now is kept for the first frame of the screen.
    """
    stamp = call.desk.journal.stamp()
    after = call.desk.levels(call.now)
    _say_what_it_did(call, entry, before, after, did, expected)
    call.out.flush()
    _keep_glance(call, after, stamp)
    return 0


def _keep_glance(call: Call, levels: Levels, stamp: int) -> None:
    """Keep the tanks for the screen; the entry is written and told, so that nothing amiss here is worth a word."""
    from tankdash.glance import keep_glance
    from tankdash.journal.trouble import JournalError

    with suppress(JournalError):
        keep_glance(call.desk, levels, stamp)


def _say_what_it_did(
    call: Call, entry: Entry, before: Levels, after: Levels, did: str, expected: Levels | None
) -> None:
    if call.wants_json:
        call.give(
            {
                "schema": 1,
                "entry": entry_json(entry),
                "changed_l": _rounded(change_in_litres(before, after)),
                "levels": after.as_json(),
            }
        )
        return
    from tankdash.keeping.entering.echo import echo_of
    from tankdash.keeping.state.words import moment_in_words

    call.say(f"{did} as entry {entry.number}, {moment_in_words(call.site, entry.at)}: {entry.words}")
    if did == NOTED and (read := echo_of(entry.record, call.site)):
        call.say_all(wrapped(f"Read as {'; '.join(read)}."))
    if entry.kind not in ("done", "note", "frost"):
        call.say_all(_changes(call, entry, before, after, expected))
        call.say_all(total_lines(call.site, after))
    seen_before = {warning.text for warning in before.warnings}
    call.say_all(warning_lines(w.text for w in after.warnings if w.text not in seen_before))


def _changes(call: Call, entry: Entry, before: Levels, after: Levels, expected: Levels | None) -> list[str]:
    """Return what an entry changed, in litres and in words."""
    from tankdash.journal.entries import Dips

    dips = [one for one in call.desk.entries() if one.kind == "dip" and one.number != entry.number]
    if expected is not None:
        seen = call.desk.levels(entry.at)
        void = seen.standing.arrangement.void_shapes
        if void and isinstance(entry.record, Dips) and {one.tank for one in entry.record.tanks} <= void:
            return ["The reading is kept; by a shape that no longer holds it tells no litres."]
        earlier = [dip for dip in dips if dip.at < entry.at]
        lines = since_last_dip(call.site, call.desk.levels(earlier[-1].at), seen) if earlier else []
        return lines + change_lines(call.site, expected, seen, is_dip=True)
    change = change_in_litres(before, after)
    if change is not None and abs(change) < WORTH_SAYING and any(entry.at < dip.at for dip in dips):
        return ["The water of now stays as it is: a later dip shows already what this did."]
    return change_lines(call.site, before, after, is_dip=False)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4) + 0.0
