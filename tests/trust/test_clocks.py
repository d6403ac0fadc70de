"""Clocks that are wrong, set back, or somewhere else; days that are short, long, or come every four years."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from trusting import Count, keeps_its_promises, levels_are_sane, soundness, times, type_in

pytestmark = pytest.mark.usefixtures("quick")

LOOKS = (
    ("levels", "--json"),
    ("chores", "--json", "--all"),
    ("rainfall", "--json"),
    ("log", "--json"),
    ("try", "--rain", "20 mm", "--json"),
    ("chores",),
    ("levels",),
    ("rainfall",),
    ("log", "--all"),
)


def look_everywhere(now: str) -> int:
    """Ask everything at a time, hold the answers to their promises, and return how many there were."""
    for words in LOOKS:
        answer = type_in("--now", now, *words)
        keeps_its_promises(answer)
        assert answer.code == 0, answer
        if words[0] in ("levels", "try") and "--json" in words:
            levels_are_sane(answer.json)
    return len(LOOKS)


def write_down(now: str, *words: str) -> None:
    answer = type_in("--now", now, *words)
    assert answer.code == 0, answer


def a_season(garden: Path) -> None:
    """Fill the journal with a little of everything, up to 10 June 2026."""
    assert garden.exists()
    for day, words in (
        ("2026-05-30T18:00", ("dip", "north", "60cm")),
        ("2026-06-01T08:00", ("rain", "12mm")),
        ("2026-06-01T09:00", ("done", "drain-first-flush")),
        ("2026-06-02T07:00", ("use", "40L", "--outlet", "tap")),
        ("2026-06-03T08:00", ("rain", "60-90mm")),
        ("2026-06-04T08:00", ("use", "--start", "--outlet", "tap")),
        ("2026-06-04T08:30", ("use", "--stop", "--outlet", "tap")),
        ("2026-06-05T08:00", ("set", "north-middle", "closed")),
        ("2026-06-06T08:00", ("frost", "-1C")),
        ("2026-06-07T08:00", ("pour", "20L", "middle")),
        ("2026-06-10T11:00", ("dip", "middle", "gap 40cm")),
    ):
        write_down(day, *words)


@pytest.mark.parametrize("year", ["0001", "0999", "1899", "2201", "9999"])
def test_a_year_out_of_reach_is_a_sentence_wherever_it_is_typed(garden: Path, year: str) -> None:
    a_season(garden)
    for day in times((f"{year}-01-01",), (f"{year}-01-01", f"{year}-06-30", f"{year}-12-31")):
        for words in (
            ("--now", f"{day} 23:59", "levels"),
            ("levels", "--at", f"{day} 0:30"),
            ("chores", "--at", f"{day} 12:00"),
            ("chores", "--until", day),
            ("rainfall", "--until", day),
            ("rain", "3mm", "--at", day),
            ("rain", "3mm", "--from", day),
            ("rain", "3mm", "--day", day),
            ("frost", "-1C", "--night", day),
            ("done", "low", "--at", f"{day}T23:59:59Z"),
        ):
            answer = type_in("--now", "2026-06-10T12:00", *words)
            keeps_its_promises(answer)
            assert answer.code == 2, answer
            assert "out of reach" in answer.err, answer
    assert soundness(garden.with_name("tankdash.journal.db")) == "ok"


@pytest.mark.parametrize(
    "now",
    times(
        ["2026-06-01T08:30", "1970-01-01T00:00"],
        ["2026-06-09T12:00", "2026-06-01T08:30", "2026-05-01T00:00", "1970-01-01T00:00", "1900-01-01T00:00"],
    ),
)
def test_a_clock_set_back_before_the_last_entries_still_gets_answers(garden: Path, now: str) -> None:
    a_season(garden)
    look_everywhere(now)
    write_down(now, "note", "the clock is wrong")
    write_down(now, "dip", "north", "50cm")
    look_everywhere(now)
    look_everywhere("2026-06-10T12:00")


def test_another_zone_in_the_site_file_moves_the_days_and_keeps_the_water(garden: Path) -> None:
    a_season(garden)
    answers = {}
    for zone in ("Europe/Lisbon", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kathmandu"):
        garden.write_text(
            garden.read_text().replace(
                "timezone: " + garden.read_text().split("timezone: ")[1].split("\n")[0], f"timezone: {zone}"
            )
        )
        look_everywhere("2026-06-10T12:00Z")
        answer = type_in("--now", "2026-06-10T12:00Z", "levels", "--json").json
        answers[zone] = answer["totals"]["volume_l"]
        assert (
            datetime.fromisoformat(answer["at"]).utcoffset()
            == datetime(2026, 6, 10, 12, tzinfo=UTC).astimezone(ZoneInfo(zone)).utcoffset()
        )
    assert len(set(answers.values())) == 1, answers


@pytest.mark.parametrize(
    ("zone", "night"),
    [
        ("Europe/Lisbon", "2026-03-29T00:00"),  # 01:00 is left out
        ("Europe/Lisbon", "2025-10-26T00:00"),  # 01:00 comes twice
        ("America/Havana", "2026-03-08T00:00"),  # midnight is left out
        ("America/Havana", "2025-11-02T00:00"),  # midnight comes twice
        ("Australia/Lord_Howe", "2026-04-05T00:00"),  # half an hour comes twice
        ("Pacific/Apia", "2011-12-29T12:00"),  # a whole day is left out
        ("Europe/Lisbon", "2024-02-28T18:00"),  # the leap day
        ("Europe/Lisbon", "2025-12-31T18:00"),  # the year ends
        ("Africa/Casablanca", "2026-02-15T00:00"),  # summer time is given up for a month
    ],
)
def test_nights_that_are_no_ordinary_nights(garden: Path, zone: str, night: str) -> None:
    """Each quarter of an hour around the clock's leap something is written down and everything is asked."""
    garden.write_text(garden.read_text().replace("Europe/Lisbon", zone))
    dice = random.Random(night)
    count = Count(f"a night in {zone}")
    moment = datetime.fromisoformat(night).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
    for _ in range(times(5, 60)):
        now = moment.isoformat()
        words = dice.choice(
            (
                ("dip", "north", f"{dice.randint(10, 90)}cm"),
                ("rain", f"{dice.randint(0, 9)}mm"),
                ("rain", "3mm", "--day", "yesterday"),
                ("rain", "8mm", "--days", "2"),
                ("use", "5L", "--outlet", "tap"),
                ("done", "drain-first-flush"),
                ("frost", "-1C"),
                ("note", "a night"),
                ("pour", "9L", "barrel", "--at", "today 0:30"),
            )
        )
        answer = type_in("--now", now, *words)
        keeps_its_promises(answer)
        count("entries" if answer.code == 0 else "refusals")
        answer = type_in("--now", now, *dice.choice(LOOKS))
        keeps_its_promises(answer)
        assert answer.code == 0, answer
        count("looks")
        moment += timedelta(minutes=dice.choice((15, 15, 30, 60, 600)))
    look_everywhere(moment.isoformat())
    count.say()
    assert count["entries"] >= times(2, 20), count.of
    assert soundness(garden.with_name("tankdash.journal.db")) == "ok"


@pytest.mark.parametrize(
    "day",
    times(
        ["2024-02-29", "2100-02-28", "2025-12-31"],
        ["2024-02-29", "2025-02-28", "2096-02-29", "2100-02-28", "2025-12-31", "2026-01-01"],
    ),
)
def test_leap_days_and_year_ends_have_chores_rain_and_levels(garden: Path, day: str) -> None:
    write_down(f"{day}T06:00", "dip", "north", "60cm")
    write_down(f"{day}T07:00", "rain", "12mm")
    look_everywhere(f"{day}T23:59:59")
    following = (datetime.fromisoformat(day) + timedelta(days=1)).date().isoformat()
    look_everywhere(f"{following}T00:00")
    write_down(f"{following}T08:00", "rain", "3mm", "--day", "yesterday")
    write_down(f"{following}T08:00", "done", "leap")
    look_everywhere(f"{following}T12:00")
