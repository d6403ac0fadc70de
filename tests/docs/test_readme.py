"""README.md is true: every command in it is run, every answer compared, every key of its tables held to the schema.

`TANKDASH_REFRESH_README=1 pytest tests/docs` writes what the program answers now into README.md instead.
"""

from __future__ import annotations

import json
import math
import os
import random
import re
import shlex
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli.families import COMMANDS
from tankdash.cli.main import main
from tankdash.site import schema

TOP = Path(__file__).resolve().parents[2]
README = TOP / "README.md"
TEXT = README.read_text(encoding="utf-8")
REFRESHES = os.environ.get("TANKDASH_REFRESH_README") == "1"

MARK = re.compile(r"<!-- (?P<what>now|file|head): (?P<value>.+?) -->")


@dataclass(frozen=True)
class Block:
    """A fenced block and what the marks before it say."""

    language: str
    body: str
    first: int
    """Line on which the body begins, from 0."""
    now: str
    """The present in which its commands are typed."""
    file: str | None
    """Name of the file it is the content of."""
    is_head: bool
    """Whether it is only the first lines of that file."""


def blocks(text: str) -> Iterator[Block]:
    """Yield the fenced blocks of README in their order."""
    now, file, is_head, language, body, first = "", None, False, None, list[str](), 0
    for number, line in enumerate(text.split("\n")):
        if language is not None:
            if line == "```":
                yield Block(language, "\n".join(body), first, now, file, is_head)
                language, file, is_head = None, None, False
            else:
                body.append(line)
        elif line.startswith("```"):
            language, body, first = line[3:], [], number + 1
        elif mark := MARK.fullmatch(line):
            now = mark["value"] if mark["what"] == "now" else now
            file = None if mark["what"] == "now" else mark["value"]
            is_head = mark["what"] == "head"


def commands_of(block: Block) -> list[str]:
    return [line[2:] for line in block.body.split("\n") if line.startswith("$ ")]


CONSOLES = [block for block in blocks(TEXT) if block.language == "console"]
TYPED = [line for block in CONSOLES for line in commands_of(block)]


def village() -> str:
    """Return ten invented years of daily rain, wet in winter, as a sheet with decimal commas."""
    draw, day, lines = random.Random(10), date(2016, 1, 1), ["date;rain mm"]
    while day < date(2026, 1, 1):
        is_wet = draw.random() < 0.42 + 0.13 * math.cos(day.timetuple().tm_yday / 58.1)
        depth = -5.2 * math.log(1.0 - draw.random()) if is_wet else 0.0
        lines.append(f"{day:%d.%m.%Y};{depth:.1f}".replace(".", ",").replace(",", ".", 2))
        day += timedelta(days=1)
    return "\n".join(lines) + "\n"


@pytest.fixture
def yard(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in a folder that holds the files README shows, with a home of its own."""
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "village.csv").write_text(village(), encoding="utf-8")
    for block in blocks(TEXT):
        if block.file is not None and not block.is_head:
            (folder / block.file).write_text(block.body + "\n", encoding="utf-8")
    monkeypatch.chdir(folder)
    return folder


def usual_codes(command: str) -> tuple[int, ...]:
    """Return the exit codes of an example: the two checks may find something, all else is fine."""
    return (0, 1) if command in ("balance", "survey") else (0,)


def answers(block: Block, capfd: pytest.CaptureFixture[str]) -> str:
    """Return a block with what the program answers to each of its commands."""
    lines = []
    for typed in commands_of(block):
        program, *words = shlex.split(typed)
        assert program == "tankdash", f"README line {block.first}: only tankdash itself is run here"
        capfd.readouterr()
        code = main(["--now", block.now, *words])
        out, err = capfd.readouterr()
        assert code in usual_codes(words[0]), f"README line {block.first}: {typed}: {err}"
        lines += [f"$ {typed}", *(line.rstrip() for line in out.rstrip("\n").split("\n"))]
    return "\n".join(lines)


def test_every_answer_in_the_readme_is_what_the_program_prints(
    yard: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    lines = TEXT.split("\n")
    refreshed = [(block, answers(block, capfd)) for block in CONSOLES]
    if REFRESHES:
        for block, said in reversed(refreshed):
            lines[block.first : block.first + len(block.body.split("\n"))] = said.split("\n")
        README.write_text("\n".join(lines), encoding="utf-8")
    else:
        for block, said in refreshed:
            assert said == block.body, f"README line {block.first + 1}"


def test_the_keys_of_the_json_answers_are_those_named(yard: Path, capfd: pytest.CaptureFixture[str]) -> None:
    for block in CONSOLES:
        answers(block, capfd)
    rows = [row for row in section("JSON").split("\n") if row.startswith("| `")]
    assert rows
    for row in rows:
        commands, keys = row.strip("|").split("|")
        for typed in re.findall(r"`(.+?)`", commands):
            capfd.readouterr()
            words = shlex.split(typed)
            assert main(["--now", CONSOLES[-1].now, *words]) in usual_codes(words[0])
            answer = json.loads(capfd.readouterr().out)
            assert set(re.findall(r"`(\w+)`", keys)) <= set(answer), typed


def test_what_is_shown_of_a_file_is_how_it_begins() -> None:
    (shown,) = (block for block in blocks(TEXT) if block.is_head)
    assert shown.file == "village.csv"
    assert village().startswith(shown.body + "\n")


def test_every_command_has_an_example_in_the_readme() -> None:
    shown = {shlex.split(line)[1] for line in TYPED}
    assert shown == {command.name for command in COMMANDS}


def test_every_command_stands_in_the_list_of_commands() -> None:
    listed = re.findall(r"^\| `([a-z]+)", section("Commands"), re.MULTILINE)
    assert sorted(listed) == sorted(command.name for command in COMMANDS)


def section(title: str) -> str:
    """Return the text under a heading of the second order."""
    return re.split(r"^## ", TEXT.split(f"\n## {title}\n")[1], flags=re.MULTILINE)[0]


# The site file, key by key


def tables() -> dict[str, list[list[str]]]:
    """Return the rows of each table of keys by its mark."""
    found: dict[str, list[list[str]]] = {}
    for mark in re.finditer(r"<!-- keys: (\w+) -->\n((?:\|.*\n)+)", TEXT):
        _, _, *rows = mark[2].strip().split("\n")
        found[mark[1]] = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    return found


TABLES = tables()
GROUPS: dict[str, type[schema.Part]] = {
    "site": schema.SitePart,
    "placed": schema.Dated,
    **schema.ITEMS,
    **schema.GROUPS,
}


def keys_of(part: type[schema.Part]) -> dict[str, str]:
    """Return the names of fields by the key in the file, those all placed things share left out."""
    shared = schema.Dated.model_fields if issubclass(part, schema.Dated) and part is not schema.Dated else {}
    return {field.alias or name: name for name, field in part.model_fields.items() if name not in shared}


def unquoted(cell: str) -> str:
    return cell.strip("`")


def test_a_table_for_every_group_of_keys() -> None:
    assert set(TABLES) == {*GROUPS, "shapes"}


@pytest.mark.parametrize("group", GROUPS)
def test_the_tables_name_exactly_the_keys_of_the_site_file(group: str) -> None:
    assert [unquoted(row[0]) for row in TABLES[group]] == list(keys_of(GROUPS[group]))


@pytest.mark.parametrize("group", GROUPS)
def test_the_tables_say_needed_where_a_key_is_needed(group: str) -> None:
    said = {unquoted(row[0]) for row in TABLES[group] if row[1] == "needed"}
    assert said == set(GROUPS[group].REQUIRED)


def defaults() -> Iterator[tuple[str, str, str]]:
    """Yield group, key and default wherever a table gives a default as a value."""
    for group in GROUPS:
        for key, default, *_ in TABLES.get(group, ()):
            if default.startswith("`"):
                yield group, unquoted(key), unquoted(default)


@pytest.mark.parametrize(("group", "key", "default"), list(defaults()))
def test_the_defaults_in_the_tables_are_those_of_the_program(group: str, key: str, default: str) -> None:
    part = GROUPS[group]
    read: Any = part.model_validate({key: default}, context="metric")
    nothing: Any = part.model_validate({}, context="metric")
    name = keys_of(part)[key]
    assert getattr(read, name) == getattr(nothing, name)


def test_no_default_is_left_out_of_the_tables() -> None:
    given = {(group, key) for group, key, _ in defaults()}
    for group, part in GROUPS.items():
        nothing: Any = part.model_validate({}, context="metric")
        for key, name in keys_of(part).items():
            value = getattr(nothing, name)
            if not (value is None or isinstance(value, schema.Part) or key == "months"):
                assert (group, key) in given, f"{group}: {key} is {value} when left out"


def test_the_table_of_shapes_names_exactly_the_kinds_and_their_keys() -> None:
    said = {unquoted(row[0]): set(re.findall(r"`(\w+)`", row[1])) for row in TABLES["shapes"]}
    shared = set(schema.ShapePart.model_fields) | {"kind"}
    assert said == {kind: set(part.model_fields) - shared for kind, part in schema.SHAPE_PARTS.items()}


# The rest


def test_what_the_readme_points_at_is_there() -> None:
    pointed = re.findall(r"\]\(([^)#:]+)\)", TEXT)
    assert pointed
    assert [path for path in pointed if not (TOP / path).exists()] == []


def test_the_first_thing_said_is_the_job_and_the_second_how_to_set_up() -> None:
    job, setting_up = TEXT.removeprefix("# tankdash\n").split("\n## Set up\n", 1)
    assert len(job.strip().split("\n\n")) == 1
    assert [block.language for block in blocks(setting_up)][:2] == ["sh", "sh"]


def test_the_licence_named_last_is_the_one_declared() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    *_, title = re.findall(r"^## (.+)$", TEXT, re.MULTILINE)
    assert title == "Licence"
    assert project["license"] in section("Licence")
