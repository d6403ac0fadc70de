"""A monkey at the command line: valid, invalid and nonsense words for every command, against one journal.

It is seeded, so what it finds can be found again: `TANKDASH_LONG=1` lets it type ten thousand lines a garden.
"""

from __future__ import annotations

import random
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from grammar import Grower
from trusting import Answer, Count, keeps_its_promises, levels_are_sane, shortened, soundness, times, type_in

from tankdash.cli.families import COMMANDS
from tankdash.journal.store import Journal
from tankdash.site import load

pytestmark = pytest.mark.usefixtures("quick")

CONFIGS = Path(__file__).parents[2] / "configs"
FILES = {
    "rain.csv": "date,rain mm\n2026-01-01,3\n2026-01-02,4,5\n2026-13-01,2\n2026-01-04,1.5\n",
    "old.csv": "".join(
        f"{day:%Y-%m-%d},{day.day % 7}\n"
        for day in (datetime(2019, 1, 1, tzinfo=UTC) + timedelta(n) for n in range(800))
    ),
    "empty.csv": "",
    "noise.csv": "\ufeff=1+1;\x00\n;;;\n",
}
FOLDERS = ("out", "out2", "chores.ics", "sub/chores.ics", ".", "tankdash.yaml", "new.yaml")


def stand_in(folder: Path, site: Path | None) -> Path:
    """Put a garden and files to read into the folder."""
    path = folder / "tankdash.yaml"
    if site is not None:
        shutil.copy(site, path)
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return path


def its_own_promises(answer: Answer, before: bytes, path: Path) -> None:
    """Hold one answer, and the site file nobody may overwrite, to their promises."""
    about_a_site = any("site" in word or word.endswith(".yaml") for word in answer.words)
    keeps_its_promises(answer, problems=None if about_a_site else 1)
    assert path.read_bytes() == before, answer


@pytest.mark.parametrize("name", ["trusted", "three-totes", "balcony-two-butts", "terraces", "pumped-bank"])
def test_a_monkey_at_the_command_line(name: str, garden: Path, folder: Path) -> None:
    path = stand_in(folder, None if name == "trusted" else CONFIGS / f"{name}.yaml")
    site_file = path.read_bytes()
    journal = path.with_name("tankdash.journal.db")
    dice = random.Random(f"monkey {name}")
    site = load(path)
    monkey = Grower(dice, site, (*FILES, "missing.csv", "tankdash.yaml", "out", "."), FOLDERS)
    count = Count(f"command lines typed at {name}")
    commands = Count("commands")
    now = datetime(2026, 6, 10, 12, tzinfo=UTC)
    number_before = 0
    steps = times(110, 10_000)
    for step in range(steps):
        now += timedelta(hours=dice.choice((0, 0, 1, 5, 24)))
        if dice.random() < 0.01:
            now -= timedelta(days=40)
        words = monkey.line()
        answer = type_in("--now", now.isoformat(), *words, patience=60.0)
        try:
            its_own_promises(answer, site_file, path)
        except AssertionError as broken:
            raise AssertionError(f"step {step}, at {now}: {shortened(words)}: {broken}") from broken
        count(("fine", "found", "refused")[answer.code])
        commands(words[0] if words and words[0] in {command.name for command in COMMANDS} else "nonsense")
        if step % 20 == 0 or step == steps - 1:
            answer = type_in("--now", now.isoformat(), "levels", "--json")
            keeps_its_promises(answer)
            assert answer.code == 0, answer
            levels_are_sane(answer.json)
            with Journal.open(journal) as kept:
                number = kept.stamp()
            assert number >= number_before, "entries are only added"
            number_before = number
            count("looks at the levels")
    count.say()
    commands.say()
    assert soundness(journal) == "ok"
    assert count["fine"] > steps * 0.3, count.of
    assert count["refused"] > steps * 0.05, count.of
    assert len(commands.of) >= times(15, len(COMMANDS)), commands.of


def test_every_command_and_option_is_within_the_monkeys_reach(garden: Path) -> None:
    """What is added to the command line is attacked without being named here."""
    monkey = Grower(random.Random(1), load(garden), ("rain.csv",), FOLDERS)
    typed = {word for _ in range(6000) for word in monkey.line()}
    for name, parser in monkey._parsers.items():
        assert name in typed
        for action in parser._actions:
            if action.option_strings and action.dest not in ("help", "site", "journal", "now"):
                assert typed.intersection(action.option_strings), (name, action.option_strings)


@pytest.mark.parametrize(
    "words", [("dip", "x" * 50_000), ("set", "north", "y" * 50_000), ("--site", "z" * 50_000, "levels")]
)
def test_a_complaint_about_something_endless_has_an_end(garden: Path, words: tuple[str, ...]) -> None:
    answer = type_in(*words)
    keeps_its_promises(answer)
    assert answer.code == 2
    assert len(answer.err) < 1300
