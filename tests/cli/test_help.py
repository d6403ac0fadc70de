"""What `--help` says: every command's words, units, examples and exit codes, and that what it shows works as shown."""

from __future__ import annotations

import argparse
import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli.command import Command
from tankdash.cli.families import COMMANDS
from tankdash.cli.parser import SEE_ALSO, build, read_arguments
from tankdash.cli.typed import UsageError
from tankdash.site.starter import KINDS


def parsers() -> dict[str, argparse.ArgumentParser]:
    (subparsers,) = (action for action in build()._actions if isinstance(action, argparse._SubParsersAction))
    return dict(subparsers.choices)


PARSERS = parsers()
ARGUMENTS = [
    pytest.param(action, id=f"{name} {'/'.join(action.option_strings) or action.dest}")
    for name, parser in PARSERS.items()
    for action in parser._actions
    if not isinstance(action, argparse._HelpAction)
]
each_command = pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)


@pytest.mark.parametrize("action", ARGUMENTS)
def test_every_argument_says_what_to_write_by_an_example_or_its_choices(action: argparse.Action) -> None:
    help_words = action.help or ""
    assert len(help_words.split()) >= 2
    takes_words = action.nargs != 0 and not action.choices
    assert not takes_words or re.search(r"such as|: \S|default|NAME\.journal\.db", help_words), help_words


@each_command
def test_the_help_of_a_command_fits_a_plain_terminal(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    long_lines = [line for line in PARSERS[command.name].format_help().splitlines() if len(line) > 80]
    assert long_lines == []


@each_command
def test_the_help_of_a_command_tells_its_exit_codes(command: Command) -> None:
    said = " ".join(PARSERS[command.name].format_help().split("Exit codes:")[1].split())
    assert said.startswith("0 fine; ")
    assert "2 bad input" in said
    assert ("1 " + command.found in said) if command.found else ("; 1 " not in said)


@each_command
def test_the_help_of_a_command_leads_on_to_others(command: Command) -> None:
    names = {one.name for one in COMMANDS}
    others = SEE_ALSO[command.name]
    assert others and set(others) <= names - {command.name}
    assert f"See also: {', '.join(others)}." in " ".join(PARSERS[command.name].format_help().split())


@pytest.mark.parametrize(
    "words", [["dip"], ["rain"], ["done"], ["frost"], ["set"], ["set", "a"], ["stick"], ["import"], ["new"]]
)
def test_what_is_left_out_is_named_with_an_example_of_the_whole(words: list[str]) -> None:
    with pytest.raises(UsageError) as refused:
        read_arguments(words)
    said = str(refused.value)
    assert f"`tankdash {words[0]}` also wants " in said
    assert f"write it as `tankdash {words[0]} " in said and "required" not in said


def test_every_kind_of_tank_that_new_takes_is_named_in_its_help() -> None:
    said = PARSERS["new"].format_help()
    assert all(re.search(rf"\b{kind}\b", said) for kind in KINDS)


@each_command
def test_the_examples_of_a_command_are_understood_as_they_stand(command: Command) -> None:
    names = set()
    for line in command.examples:
        program, *words = shlex.split(re.split(r" {2,}", line)[0])
        assert program == "tankdash"
        typed = read_arguments(words)
        assert typed.command is not None
        names.add(typed.command.name)
    assert command.name in names


def test_a_value_typed_unquoted_is_shown_and_taken_as_one(types: Any) -> None:
    usage = PARSERS["move"].format_usage()
    assert "VOLUME FROM TO" in " ".join(usage.split())
    assert read_arguments(["move", "25", "US", "gal", "north", "upper"]).args.volume == "25 US gal"
    assert read_arguments(["frost", "-1", "C"]).args.low == "-1 C"
    assert read_arguments(["set", "t3", "base", "-4cm"]).args.state == "base -4cm"
    assert read_arguments(["try", "--set", "a", "=", "open", "--set", "b=shut"]).args.set == [
        "a = open",
        "b=shut",
    ]
    assert read_arguments(["use", "--start"]).args.volume == ""


def test_help_sends_no_colour_to_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "\x1b" not in build().format_help() + PARSERS["try"].format_help()


@pytest.mark.parametrize(
    "words",
    [
        ("try", "--rain"),
        ("try", "--use"),
        ("stick", "north", "--step"),
        ("storm", "--rate"),
        ("supply", "--forecast"),
    ],
    ids=" ".join,
)
def test_a_value_that_is_empty_is_refused_and_not_passed_over(
    garden: Path, types: Any, words: tuple[str, ...]
) -> None:
    answer = types(*words, "")
    assert (answer.code, answer.out) == (2, "")
    assert "nothing is written here" in answer.err
