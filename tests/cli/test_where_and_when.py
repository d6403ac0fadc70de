"""The short way to the screen reads no words otherwise than the parser of all commands does."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.cli.parser import read_arguments
from tankdash.cli.typed import UsageError
from tankdash.cli.where_and_when import complete_time, where_and_when
from tankdash.keeping.when import TimeError, parse_time

WORDS = st.sampled_from(
    [
        "--site", "--journal", "--now", "--site=a.yaml", "--journal=", "--now=today 7:30", "--json", "--fold", "0",
        "a.yaml", "b.db", "today 7:30", "levels", "dip", "-4cm", "--", "--sit", "-h", "", "\x00", "--site=-x", "=",
        "2026-05-04T07:30+01:00",
    ]
)  # fmt: skip
LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 4, 8, tzinfo=UTC)


@settings(max_examples=200)
@given(st.lists(WORDS, max_size=6))
def test_what_is_read_the_short_way_the_parser_reads_alike(argv: list[str]) -> None:
    short = where_and_when(argv)
    if short is None:
        return
    whole = read_arguments(argv)
    assert whole.command is None
    assert {name: getattr(whole.args, name) for name in vars(short)} == vars(short)


def test_the_usual_ways_to_the_screen_are_short() -> None:
    for argv in ([], ["--site", "a.yaml"], ["--site=a.yaml", "--journal", "b.db"], ["--now", "today 7:30"]):
        assert where_and_when(argv) is not None
    for argv in (
        ["levels"],
        ["--help"],
        ["--json"],
        ["--site"],
        ["--site", "a.yaml", "levels"],
        ["--fold", "0"],
    ):
        assert where_and_when(argv) is None


@settings(max_examples=200)
@given(
    st.integers(-2_500_000_000, 4_700_000_000).map(lambda passed: datetime.fromtimestamp(passed, UTC)),
    st.sampled_from(["+01:00", "-05:30", "+0100", "Z", "", "+25:00"]),
    st.sampled_from(["minutes", "seconds", "microseconds"]),
)
def test_a_complete_time_is_the_instant_the_garden_would_read(
    moment: datetime, offset: str, detail: str
) -> None:
    text = moment.replace(tzinfo=None).isoformat(timespec=detail) + offset
    found = complete_time(text)
    if found is None:
        return
    try:
        assert found == parse_time(text, LISBON, NOW)
    except (TimeError, UsageError) as refused:
        raise AssertionError(f"{text} is taken the short way only") from refused
