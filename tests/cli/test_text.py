"""Tables and words stay in line whatever stands in them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tankdash.cli.text import shown, table, width, wrapped


@given(st.text(max_size=80))
def test_nothing_that_a_terminal_acts_on_is_shown(text: str) -> None:
    assert shown(text).isprintable()


@given(st.lists(st.tuples(st.text(max_size=12), st.text(max_size=12)), min_size=1, max_size=5))
def test_columns_stay_in_line(rows: list[tuple[str, str]]) -> None:
    lines = table(("name", "next"), [(f"a{first}", f"b{second}b") for first, second in rows], right=(1,))
    assert len({width(line) for line in lines}) == 1


@given(st.text("ab \\n", max_size=200), st.integers(10, 40))
def test_broken_lines_keep_every_word_and_the_room(text: str, room: int) -> None:
    lines = wrapped(text, "- ", "  ", room)
    assert " ".join(line[2:] for line in lines).split() == shown(text).split()
    assert all(width(line) <= room or len(line.split()) <= 2 for line in lines)
