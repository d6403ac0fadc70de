"""Whatever is typed, the answer is an answer or one sentence; never a traceback, and never half an entry."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tankdash.cli.families import COMMANDS
from tankdash.cli.main import main
from tankdash.journal.store import Journal

SCREENLESS = [
    command.name for command in COMMANDS if command.name not in ("demo", "new", "export", "calendar")
]
WORDS = st.sampled_from(
    [
        "north", "middle", "south", "nroth", "shed", "tap", "tomatoes", "wipe-screen", "site", "north-middle", "60cm",
        "-4cm", "31 1/2 in", "1/0 in", "12mm", "60-90mm", ">5.5 in", "trace", "9L", "1e400 L", "9" * 400 + " mm", "-1C",
        "40 F", "base", "open", "closed", "primed", "winter", "?", "", " ", "=", "north=60cm", "north=", "=60cm",
        "north-middle=closed", "today 7:30", "yesterday", "2026-03-29 01:30", "2025-10-26 01:30", "9999-12-31",
        "0001-01-01",
        "0", "1", "-1", "99999999999999999999", "½", "\x1b[2J", "\u202e", "\udcff", "e\u0301", "桶", "rm -rf", "../..",
        "--at", "--note", "--json", "--dip", "--rain", "--use", "--pour", "--set", "--flush", "--outlet", "--bed",
        "--start", "--stop", "--rate", "--from", "--to", "--day", "--days", "--gauge", "--left-in", "--night",
        "--until", "--all", "--last", "--what", "--fold", "--overflow", "--", "-", "--now", "full", "yes",
    ]
)  # fmt: skip


def typed(words: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    return code, out.getvalue(), err.getvalue()


def assert_is_an_answer(words: list[str], code: int, out: str, err: str) -> None:
    said = f"{words!r}\n{out}{err}"
    assert code in (0, 1, 2), said
    assert "Something went wrong inside" not in err, said
    assert not set(out + err) & {"\x1b", "\u202e"}, said
    if code == 2:
        assert err.count("\n") == 1 and err.startswith("tankdash: "), said
    else:
        assert err == "", said


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(command=st.sampled_from(SCREENLESS), words=st.lists(WORDS | st.text(max_size=6), max_size=6))
def test_any_words_end_in_an_answer_or_one_sentence(garden: Path, command: str, words: list[str]) -> None:
    path = garden.with_name("tankdash.journal.db")
    for file in garden.parent.glob("tankdash.journal.db*"):
        file.unlink()
    typed(["--now", "2026-06-10 12:00", "dip", "north", "60cm", "--at", "2026-06-08"])
    line = ["--now", "2026-06-10 12:00", command, *words]
    code, out, err = typed(line)
    assert_is_an_answer(line, code, out, err)
    with Journal.open(path) as journal:
        count = len(journal.entries(include_voided=True))
    assert count == 1 or code == 0, line
    assert count <= 2, line


def test_an_empty_reading_is_one_sentence(garden: Path, types: Any) -> None:
    answer = types("dip", "north", "north", "")
    assert_is_an_answer(["dip"], answer.code, answer.out, answer.err)
    assert answer.code == 2


@pytest.mark.parametrize("command", SCREENLESS)
def test_a_command_on_an_empty_garden_answers(garden: Path, command: str, types: Any) -> None:
    answer = types(command)
    assert_is_an_answer([command], answer.code, answer.out, answer.err)
