"""Typed words to records, and a sentence for every mistake."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, at, dip, journal, rain, site

from tankdash.journal.entries import Change, Done, Frost, Move, Note, Pour, TapClosed, TapOpened, Use
from tankdash.keeping.entering import records
from tankdash.keeping.entering.records import EntryError
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.standing import Standing

GARDEN = site(
    THREE_TOTES.replace("north: {base: 20 cm,", "north: {label: North tote, base: 20 cm,")
    .replace("south: {base: 23 cm,", "south: {dip: {from: brim}, base: 23 cm,")
    .replace(
        "  tap: {tank: south, at: 10 cm}",
        "  tap: {tank: south, at: 10 cm}\n  pump: {tank: middle, at: 20 cm, kind: pump}",
    )
    .replace(
        "  middle-south:", "  high: {join: [north, south], ports: 90 cm, crest: 140 cm}\n  middle-south:"
    )
    + "beds:\n  beans: {area: 10 m2, need: 25 mm/week, from: tap}\n"
    + "chores:\n  pipe: {label: Empty the pipe, after_rain: {at_least: 1 mm}}\n  oil: {label: Oil, every: 2 weeks}\n"
)


def standing(*happened: object, now: datetime = START) -> Standing:
    return replay(GARDEN, journal(*happened), now)  # type: ignore[arg-type]


FULL = standing((START, dip(north=0.6)))


def refused(work: Callable[[], object]) -> EntryError:
    with pytest.raises(EntryError) as caught:
        work()
    sentence = caught.value.sentence
    assert "\n" not in sentence and len(sentence) > 15
    assert sentence == str(caught.value)
    return caught.value


# --- dips


@pytest.mark.parametrize(
    ("tank", "text", "depth"),
    [
        ("north", "60 cm", 0.6),
        ("North tote", "60 cm", 0.6),
        ("NORTH", "31 1/2 in", 0.8001),
        ("north", "gap 45 cm", 0.6),
        ("south", "45 cm", 0.6),
        ("south", "depth 40 cm", 0.4),
        ("north", "0", 0.0),
    ],
)
def test_a_dip_is_read_by_the_rule_of_its_tank_unless_the_words_say_otherwise(
    tank: str, text: str, depth: float
) -> None:
    (read,) = records.enter_dip(GARDEN, FULL.layout, {tank: text}, START).tanks
    assert read.depth_m == pytest.approx(depth)
    assert read.low_m == read.high_m == read.depth_m


@pytest.mark.parametrize("text", ["20-30 cm", "gap 75-85 cm", "20 cm to 30 cm"])
def test_a_range_read_off_a_stick_stays_a_range(text: str) -> None:
    (read,) = records.enter_dip(GARDEN, FULL.layout, {"north": text}, START).tanks
    assert (read.low_m, read.depth_m, read.high_m) == (
        pytest.approx(0.2), pytest.approx(0.25), pytest.approx(0.3),
    )  # fmt: skip


def test_several_readings_are_one_survey() -> None:
    taken = records.enter_dip(GARDEN, FULL.layout, {"north": "60 cm", "middle": "63 cm"}, START)
    assert [read.tank for read in taken.tanks] == ["north", "middle"]


def test_a_gauge_whose_marks_are_not_depths_is_read_by_its_two_known_levels() -> None:
    """A float on a counterweight: the mark sinks as the water rises (F21)."""
    upside_down = site(
        THREE_TOTES.replace(
            "middle: {base: 17 cm,", "middle: {dip: {scale: [[100 cm, 0 cm], [0 cm, 100 cm]]}, base: 17 cm,"
        )
    )
    layout = upside_down.layout(START.date())
    (read,) = records.enter_dip(upside_down, layout, {"middle": "30 cm"}, START).tanks
    assert read.depth_m == pytest.approx(0.7)
    refused(lambda: records.enter_dip(upside_down, layout, {"middle": "130 cm"}, START))


@pytest.mark.parametrize(
    ("readings", "field", "words"),
    [
        ({"nort": "60 cm"}, "nort", "did you mean north?"),
        ({"well": "60 cm"}, "well", "north, middle and south"),
        ({"north": "60"}, "north", "unit"),
        ({"north": "sixty cm"}, "north", "sixty"),
        ({"north": "106 cm"}, "north", "above its brim at 105 cm"),
        ({"south": "106 cm"}, "south", "deeper than its brim"),
        ({"north": "gap 106 cm"}, "north", "deeper than its brim"),
        ({"north": "-3 cm"}, "north", ""),
        ({"north": "30-20 cm"}, "north", "backwards"),
        ({"north": "60 cm", "North tote": "61 cm"}, "North tote", "twice"),
        ({}, "reading", "Which tank"),
        ({" ": "60 cm"}, " ", "Which tank"),
    ],
)
def test_a_dip_that_cannot_be_is_refused_with_what_to_write(
    readings: dict[str, str], field: str, words: str
) -> None:
    error = refused(lambda: records.enter_dip(GARDEN, FULL.layout, readings, START))
    assert error.field == field and words in error.sentence


def test_a_reading_for_a_tank_that_is_not_there_on_that_day_is_refused() -> None:
    """F51: the reading belongs to the garden of its date."""
    garden = site(
        THREE_TOTES.replace(
            "south: {base: 23 cm,", "south: {since: 2026-05-10, until: 2026-06-10, base: 23 cm,"
        )
    )
    early = refused(lambda: records.enter_dip(garden, garden.layout(START.date()), {"south": "5 cm"}, START))
    assert "joined on 10 May 2026" in early.sentence
    late = at(60)
    gone = refused(lambda: records.enter_dip(garden, garden.layout(late.date()), {"south": "5 cm"}, late))
    assert "left after 10 Jun 2026" in gone.sentence


@settings(max_examples=200, deadline=None)
@given(
    st.text(max_size=30)
    | st.builds("{}{}{}".format, st.integers(0, 130), st.sampled_from(["", " ", "-90 ", " 1/2 "]), st.sampled_from(
        ["cm", "mm", "in", "cm gap", "m"]))
)  # fmt: skip
def test_whatever_is_typed_is_a_dip_or_a_sentence(text: str) -> None:
    try:
        (read,) = records.enter_dip(GARDEN, FULL.layout, {"north": text}, START).tanks
    except EntryError as error:
        assert error.sentence
    else:
        assert 0.0 <= read.low_m <= read.depth_m <= read.high_m <= 1.05


# --- rain


def test_a_gauge_counts_since_it_was_last_read_one_day_at_most() -> None:
    first = records.enter_rain(GARDEN, "4 mm", at(1), at(1))
    assert (first.start, first.end) == (at(0), at(1))
    before = journal((at(0.5), rain(3.0, at(0.5))))
    second = records.enter_rain(GARDEN, "4 mm", at(1), at(1), entries=before)
    assert second.start == at(0.5)


def test_rain_keeps_what_was_told_of_its_period() -> None:
    told = records.enter_rain(GARDEN, "60-90 mm", at(2), at(2), start=at(0), end=at(1))
    assert (told.low_mm, told.high_mm, told.start, told.end) == (60.0, 90.0, at(0), at(1))
    summed = records.enter_rain(GARDEN, ">5.5 in", at(11), at(11), days=11)
    assert (summed.start, summed.end) == (at(0), at(11))
    assert summed.low_mm == pytest.approx(139.7) and summed.high_mm is None
    of_a_day = records.enter_rain(GARDEN, "trace", at(2), at(2), day=date(2026, 5, 5), left_in=True)
    assert of_a_day.trace and of_a_day.left_in and of_a_day.day == date(2026, 5, 5)
    assert (of_a_day.start, of_a_day.end) == (
        datetime(2026, 5, 5, tzinfo=UTC), datetime(2026, 5, 6, tzinfo=UTC),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "more", "field"),
    [
        ("12", {}, "depth"),
        ("90-60 mm", {}, "depth"),
        ("12 mm", {"start": at(1), "end": at(0)}, "from"),
        ("12 mm", {"start": at(0), "end": at(3)}, "to"),
        ("12 mm", {"start": at(-400), "end": at(0)}, "from"),
        ("12 mm", {"day": date(2026, 5, 9)}, "day"),
        ("12 mm", {"days": 0}, "days"),
        ("12 mm", {"days": 2, "day": date(2026, 5, 4)}, "days"),
        ("12 mm", {"gauge": " "}, "gauge"),
    ],
)
def test_rain_that_cannot_be_is_refused(text: str, more: dict[str, object], field: str) -> None:
    error = refused(lambda: records.enter_rain(GARDEN, text, at(2), at(2), **more))  # type: ignore[arg-type]
    assert error.field == field


def test_a_gauge_already_read_at_that_time_is_not_read_twice() -> None:
    before = journal((at(1), rain(3.0, at(1))))
    error = refused(lambda: records.enter_rain(GARDEN, "4 mm", at(1), at(1), entries=before))
    assert "already read" in error.sentence


# --- water moved by hand


def test_a_draw_names_its_outlet_or_its_bed_or_asks() -> None:
    assert records.enter_use(GARDEN, FULL, "60 L", "tap") == Use(pytest.approx(60.0), "tap")
    assert records.enter_use(GARDEN, FULL, "60 L", bed="beans") == Use(pytest.approx(60.0), "tap", "beans")
    error = refused(lambda: records.enter_use(GARDEN, FULL, "60 L"))
    assert error.field == "outlet" and "tap" in error.sentence and "pump" in error.sentence
    assert "did you mean pump" in refused(lambda: records.enter_use(GARDEN, FULL, "60 L", "pmup")).sentence


def test_F35_a_pump_cannot_have_drawn_what_it_cannot_reach() -> None:
    """Usable for the pump: above 0.37 in each tank, 430 + 430 + 430 L."""
    assert records.enter_use(GARDEN, FULL, "1290 L", "pump").volume_l == pytest.approx(1290.0)
    error = refused(lambda: records.enter_use(GARDEN, FULL, "1300 L", "pump"))
    assert "1290 L at most" in error.sentence
    # A tap is believed: the estimate may be wrong.
    assert records.enter_use(GARDEN, FULL, "5000 L", "tap").volume_l == pytest.approx(5000.0)


def test_F35_a_pump_that_is_locked_out_is_not_used() -> None:
    locked = standing((START, dip(north=0.6)), (START, Change("pump", "locked")))
    assert "locked out" in refused(lambda: records.enter_use(GARDEN, locked, "10 L", "pump")).sentence
    assert "locked out" in refused(lambda: records.enter_tap_open(GARDEN, locked, "pump")).sentence


def test_a_tap_is_opened_once_and_closed_after() -> None:
    assert records.enter_tap_open(GARDEN, FULL, "tap") == TapOpened("tap")
    running = standing((START, dip(north=0.6)), (START, TapOpened("tap")))
    assert "already" in refused(lambda: records.enter_tap_open(GARDEN, running, "tap")).sentence
    assert records.enter_tap_close(GARDEN, running, rate="0.5 L/s") == TapClosed("tap", pytest.approx(0.5))
    assert "noted as open" in refused(lambda: records.enter_tap_close(GARDEN, FULL)).sentence
    assert refused(lambda: records.enter_tap_close(GARDEN, running, rate="fast")).field == "rate"


def test_F49_a_transfer_larger_than_its_source_can_give_is_refused() -> None:
    assert records.enter_move(GARDEN, FULL, "100 L", "north", "middle") == Move(
        pytest.approx(100.0), "north", "middle"
    )
    error = refused(lambda: records.enter_move(GARDEN, FULL, "3000 L", "north", "middle"))
    assert error.field == "volume" and "at most" in error.sentence
    assert "twice" in refused(lambda: records.enter_move(GARDEN, FULL, "1 L", "north", "North tote")).sentence


def test_water_from_elsewhere_may_be_measured_or_only_noticed() -> None:
    assert records.enter_pour(GARDEN, FULL, "100 L", "north", "melt") == Pour(
        pytest.approx(100.0), "north", "melt"
    )
    assert records.enter_pour(GARDEN, FULL, None, "north", "dew") == Pour(None, "north", "dew")
    assert "unit" in refused(lambda: records.enter_pour(GARDEN, FULL, "100", "north")).sentence
    assert "Nothing" in refused(lambda: records.enter_pour(GARDEN, FULL, "0 L", "north")).sentence


# --- things set


@pytest.mark.parametrize(
    ("item", "state", "change"),
    [
        ("north-middle", "closed", Change("north-middle", "closed")),
        ("north-middle", "shut", Change("north-middle", "closed")),
        ("middle-south", "open", Change("middle-south", "open")),
        ("middle-south", "stuck", Change("middle-south", "stuck")),
        ("high", "primed", Change("high", "primed")),
        ("high", "unprimed", Change("high", "unprimed")),
        ("shed", "plugged", Change("shed", "plugged")),
        ("shed", "bypass", Change("shed", "bypass")),
        ("shed", "open", Change("shed", "open")),
        ("north", "base 12 cm", Change("north", "base", 0.12)),
        ("North tote", "base -4cm", Change("north", "base", -0.04)),
        ("north", "sealed", Change("north", "sealed")),
        ("north", "vented", Change("north", "vented")),
        ("north", "drain open", Change("north", "drain-open")),
        ("north", "drain-closed", Change("north", "drain-closed")),
        ("north", "shape-void", Change("north", "shape-void")),
        ("pump", "locked", Change("pump", "locked")),
        ("pump", "unlocked", Change("pump", "unlocked")),
        ("site", "winter", Change("site", "winter")),
        ("site", "in use", Change("site", "in-use")),
    ],
)
def test_every_state_can_be_set(item: str, state: str, change: Change) -> None:
    assert records.enter_set(GARDEN, item, state, START) == change


@pytest.mark.parametrize(
    ("item", "state", "words"),
    [
        ("nort-middle", "open", "did you mean north-middle?"),
        ("north-middle", "plugged", "open, closed"),
        ("north-middle", "primed", "no crest"),
        ("north", "base", "How high"),
        ("north", "base 12", "unit"),
        ("north", "base 900 m", "cannot be meant"),
        ("site", "summer", "winter or in-use"),
        ("pump", "", "needs a state"),
    ],
)
def test_a_state_that_cannot_be_is_refused(item: str, state: str, words: str) -> None:
    assert words in refused(lambda: records.enter_set(GARDEN, item, state, START)).sentence


def test_a_roof_and_a_tank_of_one_name_are_told_apart_by_the_state() -> None:
    twins = site(THREE_TOTES.replace("  shed: {area", "  north: {area"))
    assert records.enter_set(twins, "north", "plugged", START) == Change("north", "plugged")
    assert records.enter_set(twins, "north", "base 3 cm", START) == Change("north", "base", 0.03)


# --- the rest


def test_the_future_is_refused_beyond_what_two_clocks_may_differ() -> None:
    assert records.check_time(GARDEN, START + timedelta(minutes=5), START)
    assert "still to come" in refused(lambda: records.check_time(GARDEN, at(1), START)).sentence


def test_a_forecast_low_belongs_to_the_night_that_begins_that_day() -> None:
    assert records.enter_frost(GARDEN, "-1 C", START) == Frost(-1.0, date(2026, 5, 4))
    assert records.enter_frost(GARDEN, "30 F", START, date(2026, 5, 6)).low_c == pytest.approx(
        -1.111, abs=1e-3
    )
    assert refused(lambda: records.enter_frost(GARDEN, "-1", START)).field == "low"
    assert refused(lambda: records.enter_frost(GARDEN, "-90 C", START)).field == "low"


def test_F41_what_was_done_before_the_rain_does_not_answer_it() -> None:
    entries = journal((at(1), rain(4.0, at(1))))
    assert records.enter_done(GARDEN, "Empty the pipe", at(1.5), entries, at(2)) == Done("pipe")
    error = refused(lambda: records.enter_done(GARDEN, "pipe", at(0.5), entries, at(2)))
    assert error.field == "at"
    assert (
        "did you mean pipe"
        in refused(lambda: records.enter_done(GARDEN, "pip", at(2), entries, at(2))).sentence
    )


@pytest.mark.parametrize(
    ("text", "overflow", "about"),
    [
        ("the net is torn", None, ""),
        ("overflow dry all morning", None, "overflow dry"),
        ("", "yes", "overflow seen"),
        ("", "no", "overflow dry"),
    ],
)
def test_a_note_may_say_what_the_overflow_did(text: str, overflow: str | None, about: str) -> None:
    assert records.enter_note(text, overflow) == Note(about)  # type: ignore[arg-type]


def test_an_empty_note_is_refused() -> None:
    assert refused(lambda: records.enter_note("  ")).field == "note"
    assert refused(lambda: records.enter_note("", "perhaps")).field == "overflow"


def test_an_outlet_of_a_tank_that_is_not_there_yet_cannot_be_drawn_from() -> None:
    garden = site(THREE_TOTES.replace("south: {base: 23 cm,", "south: {since: 2026-06-01, base: 23 cm,"))
    standing = replay(garden, journal((START, dip(north=0.6))), at(1))
    for refusal in (
        refused(lambda: records.enter_use(garden, standing, "10 L", "tap")),
        refused(lambda: records.enter_tap_open(garden, standing, "tap")),
    ):
        assert refusal.field == "outlet"
        assert "tap is not in the garden on 5 May 2026, as south is not" in refusal.sentence


def test_a_gauge_read_after_a_day_that_never_was_counts_from_a_day_before() -> None:
    """The islands of Samoa had no 30 December 2011: the same time on the day before is no time at all."""
    garden = site(GARDEN_OVER_THE_DATE_LINE)
    morning = datetime(2011, 12, 31, 9, 0, tzinfo=garden.zone)
    for period in ({}, {"days": 1}):
        read = records.enter_rain(garden, "5 mm", morning, morning, **period)
        assert (read.end.astimezone(UTC) - read.start.astimezone(UTC)).total_seconds() == 86400.0


GARDEN_OVER_THE_DATE_LINE = """
site: Over the date line
timezone: Pacific/Apia
units: metric
datum: the yard
tanks:
  low: {base: 0, shape: {kind: straight, holds: 5 m3, at: 1 m}}
outlets: {tap: {tank: low, at: 0}}
"""


def test_a_depth_above_the_brim_is_not_offered_as_a_gap() -> None:
    """A reading longer than the tank is high fits neither way."""
    error = refused(lambda: records.enter_dip(GARDEN, GARDEN.layout(START.date()), {"north": "9 m"}, START))
    assert "above its brim" in error.sentence
    assert "gap" not in error.sentence
