"""DEVELOPERS.md is true: every path in it is there, every name is where it says, every command can be run."""

from __future__ import annotations

import importlib.util
import re
import shlex
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
TEXT = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
PROSE = " ".join(re.sub(r"```.*?```", "", TEXT, flags=re.DOTALL).split())
QUOTED = re.findall(r"`([^`]+)`", PROSE)
PATHS = [word for word in QUOTED if "/" in word or re.search(r"\.(py|md|toml|tcss)$", word)]
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.mark.parametrize("path", sorted(set(PATHS)))
def test_every_path_named_is_there(path: str) -> None:
    assert list(TOP.glob(path)), f"{path} is not there"


@pytest.mark.parametrize(("name", "path"), re.findall(r"`(\w+)` (?:in|of) `([\w/]+\.py)`", PROSE))
def test_every_name_is_where_it_is_said_to_be(name: str, path: str) -> None:
    text = (TOP / path).read_text(encoding="utf-8")
    assert re.search(rf"^\s*(?:async )?(?:def|class) {name}\b|^{name}\b.*=", text, re.MULTILINE)


def commands() -> list[str]:
    """Return the lines of all blocks, without the remark that follows two spaces."""
    blocks = re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL)
    lines = [re.split(r"\s{2,}#", line)[0] for block in blocks for line in block.strip().split("\n")]
    return [part for line in lines for part in line.split(" && ")]


@pytest.mark.parametrize("command", commands())
def test_every_command_names_programs_modules_and_files_that_are_there(command: str) -> None:
    words = [word for word in shlex.split(command) if not re.fullmatch(r"[A-Z_]+=\S+", word)]
    program, *rest = words
    if program == "python3":
        assert rest == ["-m", "venv", ".venv"]
        return
    place, _, name = program.rpartition("/")
    declared = {re.match(r"[\w-]+", one)[0] for one in PROJECT["optional-dependencies"]["test"]}  # type: ignore[index]
    known = declared | set(PROJECT["scripts"]) | {"python", "pip", "lint-imports"}
    assert place == ".venv/bin"
    assert name in known
    if rest[:1] == ["-m"]:
        assert importlib.util.find_spec(rest[1]) is not None
    for word in rest:
        if re.fullmatch(r"[\w./-]+\.py|tests(/\w+)*", word):
            assert (TOP / word).exists()


def test_the_switches_named_are_the_ones_tests_listen_to() -> None:
    switches = set(re.findall(r"\bTANKDASH_REFRESH_\w+", TEXT))
    heard = "".join(path.read_text(encoding="utf-8") for path in (TOP / "tests").rglob("*.py"))
    assert switches
    assert [name for name in switches if f'"{name}"' not in heard] == []


def test_the_test_picked_by_name_as_an_example_is_there() -> None:
    (path, word) = re.findall(r"pytest (\S+) -k (\w+)", TEXT)[0]
    assert re.search(rf"^def test_\w*{word}", (TOP / path).read_text(encoding="utf-8"), re.MULTILINE)


def test_every_dependency_has_its_reason() -> None:
    reasons = TEXT.split("## Why each dependency")[1].split("|---|---|")[1]
    rows = re.findall(r"^\| ([\w.-]+)( \(tests\))? \| (\S.*) \|$", reasons, re.MULTILINE)
    told = {(name, bool(mark)) for name, mark, _ in rows}
    needed = {
        (re.split(r"[^\w.-]", wanted)[0], is_test)
        for wanteds, is_test in (
            (PROJECT["dependencies"], False),
            (PROJECT["optional-dependencies"]["test"], True),
        )
        for wanted in wanteds
    }
    assert told == needed
