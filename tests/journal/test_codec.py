"""Every record the journal knows comes back from its row as it went in, and nothing else is taken for one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.journal.codec import KINDS, BadRecord, decode, encode, kind_of, prove
from tankdash.journal.entries import (
    Change,
    Dips,
    Done,
    Frost,
    Imported,
    Move,
    Note,
    Pour,
    Rain,
    Record,
    TankDip,
    TapClosed,
    TapOpened,
    Use,
    Void,
)

figures = st.floats(0.0, 1e6, allow_nan=False)
signed = st.floats(-1e6, 1e6, allow_nan=False)
names = st.text(min_size=1, max_size=12)
moments = st.datetimes(
    datetime(1990, 1, 1),  # noqa: DTZ001
    datetime(2090, 1, 1),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, timezone(timedelta(hours=-7)), timezone(timedelta(hours=5, minutes=45))]),
)
days = st.dates(date(1990, 1, 1), date(2090, 1, 1))


def dipped(tank: str, depths: list[float]) -> TankDip:
    low, middle, high = sorted(depths)
    return TankDip(tank, middle, low, high)


def rained(depths: list[float], is_open: bool, start: datetime, lasts: timedelta, *more: Any) -> Rain:
    low, high = sorted(depths)
    return Rain(low, None if is_open else high, start, start + lasts, *more)


records = st.one_of(
    st.builds(
        Dips,
        st.lists(
            st.builds(dipped, names, st.lists(figures, min_size=3, max_size=3)), min_size=1, max_size=3
        ).map(tuple),
    ),
    st.builds(
        rained,
        st.lists(figures, min_size=2, max_size=2),
        st.booleans(),
        moments,
        st.timedeltas(timedelta(), timedelta(days=366)),
        names,
        st.booleans(),
        st.booleans(),
        st.none() | days,
    ),
    st.builds(Use, figures, st.none() | names, st.none() | names),
    st.builds(TapOpened, st.none() | names, st.none() | names),
    st.builds(TapClosed, st.none() | names, st.none() | figures),
    st.builds(Move, figures, names, names),
    st.builds(Pour, st.none() | figures, names, names),
    st.builds(Change, names, names, st.none() | signed),
    st.builds(Frost, signed, days),
    st.builds(Done, names),
    st.builds(Note, st.sampled_from(["", "overflow seen", "overflow dry", "gauge missed"])),
    st.builds(Void, st.integers(1, 10**9)),
    st.builds(Imported, names, st.sampled_from(["gauge", "history"]), names, st.integers(0, 10**6)),
)


@given(records)
def test_a_record_comes_back_from_its_row_as_it_went_in(record: Record) -> None:
    assert prove(decode(kind_of(record), encode(record))) == record


def test_every_record_has_a_kind_of_its_own() -> None:
    assert len(KINDS) == len(set(KINDS)) == len(get_args(Record))


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("flood", "{}"),
        ("use", "not json"),
        ("use", "[1]"),
        ("use", '{"volume_l": 1, "surprise": 2}'),
        ("use", "{}"),
        ("rain", '{"low_mm": 1}'),
        ("frost", '{"low_c": -1, "night": "soon"}'),
        ("dip", '{"tanks": 5}'),
        ("use", "[" * 100_000),
    ],
)
def test_words_that_are_no_record_are_refused(kind: str, text: str) -> None:
    with pytest.raises(BadRecord):
        decode(kind, text)


@pytest.mark.parametrize("figure", [float("nan"), float("inf"), float("-inf")])
def test_a_figure_that_is_not_finite_is_never_written(figure: float) -> None:
    with pytest.raises(BadRecord, match="finite"):
        encode(Use(figure))


@pytest.mark.parametrize(
    "record",
    [
        Use("9"),  # type: ignore[arg-type]
        Use(True),
        Use(float("nan")),
        Use(1e300),
        Use(-5.0),
        Move(-1e-3, "north", "south"),
        Frost(-1.0, date(1, 1, 1)),
        Dips((TankDip("north", 0.6, 0.7, 0.8),)),
        Rain(5.0, 4.0, datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 1, 2, tzinfo=UTC)),
        Rain(5.0, 5.0, datetime(2026, 1, 2, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC)),
        Rain(5.0, 5.0, datetime(2020, 1, 1, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC)),
        Done(7),  # type: ignore[arg-type]
        Note("flooded"),  # type: ignore[arg-type]
        Frost(-1.0, datetime(2026, 1, 1, tzinfo=UTC)),
        Dips((TankDip("north", 0.6, "0.6", 0.6),)),  # type: ignore[arg-type]
        Rain(1.0, 1.0, datetime(2026, 1, 1), datetime(2026, 1, 2, tzinfo=UTC)),  # noqa: DTZ001
    ],
)
def test_a_record_from_outside_is_looked_at_field_by_field(record: Record) -> None:
    with pytest.raises(BadRecord):
        prove(record)
