"""Labels come from files: they must fit their cells and never steer the terminal."""

from __future__ import annotations

import unicodedata

from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from tankdash.drawing.cells import cut, in_ascii, pad, printable, text_width
from tankdash.drawing.grid import Grid


@given(st.text(max_size=30), st.integers(0, 20))
@settings(max_examples=200)
def test_a_padded_label_takes_exactly_its_room(text: str, room: int) -> None:
    assert text_width(pad(text, room)) == room


@given(st.text(max_size=30))
@settings(max_examples=200)
def test_nothing_printable_steers_the_terminal(text: str) -> None:
    shown = printable(text)
    assert not any(unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs") for char in shown)
    assert printable(shown) == shown


def test_escape_and_direction_marks_are_shown_as_signs() -> None:
    assert printable("a\x1b]0;x\x07\u202eb\u200f") == "a␛]0;x␇�b�"
    assert printable("tank\r\n\tone") == "tank␍␊␉one"


def test_widths_agree_with_another_measure_of_cells() -> None:
    for text in ("North tote", "水槽 3", "ｗｉｄｅ", "cafe\u0301", "שלום", "한글", "Ä½°"):
        assert text_width(printable(text)) == cell_len(printable(text)), text


def test_a_wide_letter_is_never_cut_in_half() -> None:
    assert cut("水槽水槽", 4) == "水…"
    assert text_width(cut("水槽水槽", 4)) <= 4
    assert pad("水槽水槽", 4) == "水… "


def test_a_heap_of_accents_stays_on_its_line() -> None:
    assert len(printable("a" + "\u0322" * 50)) <= 4


def test_ascii_form_is_ascii_and_keeps_its_width() -> None:
    for text in ("Nördlich", "水槽", "½ full", "a\x1b[0m"):
        assert in_ascii(text).isascii()
    assert in_ascii("水槽") == "????"


@given(st.lists(st.tuples(st.integers(-3, 25), st.integers(-1, 4), st.text(max_size=12)), max_size=8))
@settings(max_examples=100)
def test_a_sheet_keeps_its_width_whatever_is_written_over_what(writings: list[tuple[int, int, str]]) -> None:
    grid = Grid(20, 3)
    for x, y, text in writings:
        grid.text(x, y, text, "label")
        grid.put(x + 1, y, "x", "wall")
    for row in grid.rows():
        assert sum(text_width(span.text) for span in row) == 20
