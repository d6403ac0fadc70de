"""Around the commands: which site is found, what is imported, and that no trouble ever ends in a traceback."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli import main as edge
from tankdash.cli.call import Call
from tankdash.cli.families import COMMANDS

HEAVY = ("numpy", "scipy", "pandas", "textual", "icalendar", "rich")


def run(*words: str, cwd: Path, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tankdash", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=60,
        **more,
    )


def test_without_a_site_it_says_how_to_begin(folder: Path, types: Any) -> None:
    answer = types("levels", now=None)
    assert (answer.code, answer.out) == (2, "")
    assert "--site" in answer.err
    assert "TANKDASH_SITE" in answer.err
    assert "tankdash demo" in answer.err


def test_the_site_is_looked_for_in_four_places(
    garden: Path, types: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """--site, then TANKDASH_SITE, then ./tankdash.yaml, then the config folder."""

    def named(path: Path, name: str) -> Path:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(garden.read_text().replace("Three totes", name) if garden.exists() else text(name))
        return path

    original = garden.read_text()

    def text(name: str) -> str:
        return original.replace("Three totes", name)

    named(tmp_path / "home" / ".config" / "tankdash" / "tankdash.yaml", "own")
    in_environment = named(tmp_path / "env.yaml", "environment")
    given = named(tmp_path / "given.yaml", "given")
    monkeypatch.setenv("TANKDASH_SITE", str(in_environment))
    assert types("levels", "--json", "--site", str(given)).json["site"] == "given"
    assert types("levels", "--json").json["site"] == "environment"
    monkeypatch.delenv("TANKDASH_SITE")
    assert types("levels", "--json").json["site"] == "Three totes"
    garden.unlink()
    assert types("levels", "--json").json["site"] == "own"


@pytest.mark.parametrize("words", [("--help",), ("levels", "--help"), ("--version",)])
def test_help_goes_to_stdout_and_ends_well(folder: Path, types: Any, words: tuple[str, ...]) -> None:
    answer = types(*words, now=None)
    assert (answer.code, answer.err) == (0, "")
    assert "tankdash" in answer.out


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)
def test_every_command_explains_itself_with_an_example(folder: Path, types: Any, command: Any) -> None:
    out = types(command.name, "--help", now=None).out
    assert f"  tankdash {command.name}" in out.split("examples:")[1]
    assert len(command.details.split()) >= 10
    assert all(len(line) <= 100 for line in out.splitlines())
    assert command.name in types("--help", now=None).out


def test_a_wrong_command_gets_the_nearest_one(folder: Path, types: Any) -> None:
    answer = types("lvels", now=None)
    assert (answer.code, answer.err) == (2, "tankdash: There is no command 'lvels': did you mean `levels`?\n")


def test_options_are_not_guessed_from_their_beginning(garden: Path, types: Any) -> None:
    assert types("levels", "--js").code == 2


@pytest.mark.parametrize("words", [("--help",), ("levels", "--json"), ("check",), ("dip", "north", "60cm")])
def test_nothing_heavy_is_imported(garden: Path, words: tuple[str, ...]) -> None:
    script = (
        "import json, sys\n"
        "from tankdash.cli.main import main\n"
        "code = main(sys.argv[1:])\n"
        "print(json.dumps([code, sorted({name.split('.')[0] for name in sys.modules})]), file=sys.stderr)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script, *words], cwd=garden.parent, capture_output=True, text=True, timeout=60
    )
    code, modules = json.loads(result.stderr.splitlines()[-1])
    assert code == 0
    assert not set(HEAVY) & set(modules)
    if words == ("--help",):
        assert not {"pydantic", "ruamel", "sqlite3"} & set(modules)


@pytest.mark.parametrize(
    ("problem", "sentence"),
    [
        (RuntimeError("odd\nthing"), "Something went wrong inside tankdash (RuntimeError: odd thing)"),
        (RecursionError(), "Something went wrong inside"),
        (PermissionError(13, "Permission denied", "x.yaml"), "x.yaml: Permission denied."),
        (MemoryError(), "Something went wrong inside"),
    ],
)
def test_whatever_breaks_there_is_no_traceback(
    garden: Path, types: Any, monkeypatch: pytest.MonkeyPatch, problem: Exception, sentence: str
) -> None:
    def breaks(call: Call) -> None:
        raise problem

    monkeypatch.setattr(Call, "desk", property(breaks))
    answer = types("levels")
    assert answer.code == 2
    assert answer.out == ""
    assert sentence in answer.err
    assert answer.err.count("\n") == 1


def test_ctrl_c_is_quiet(garden: Path, types: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(call: Call) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Call, "desk", property(stop))
    answer = types("levels")
    assert (answer.code, answer.out, answer.err) == (130, "", "")


def test_a_reader_that_has_seen_enough_is_no_trouble(garden: Path) -> None:
    reader = subprocess.Popen(
        [sys.executable, "-m", "tankdash", "levels"],
        cwd=garden.parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert reader.stdout is not None
    assert reader.stderr is not None
    reader.stdout.close()
    assert reader.stderr.read() == b""
    reader.stderr.close()
    assert reader.wait(timeout=60) == 0


def test_a_full_disk_behind_the_answer_is_told(garden: Path) -> None:
    with Path("/dev/full").open("w") as full:
        result = subprocess.run(
            [sys.executable, "-m", "tankdash", "levels"],
            cwd=garden.parent,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
        )
    assert result.returncode == 2
    assert "No space left" in result.stderr
    assert "Traceback" not in result.stderr


def test_an_ascii_terminal_gets_what_it_can_show(garden: Path) -> None:
    garden.write_text(garden.read_text().replace("Three totes", "Drei Fässer"))
    result = run("levels", cwd=garden.parent, env={"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin"})
    assert (result.returncode, result.stderr) == (0, "")
    assert "Drei F\\xe4sser" in result.stdout
    result = run(
        "levels", "--json", cwd=garden.parent, env={"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin"}
    )
    assert json.loads(result.stdout)["site"] == "Drei Fässer"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [(b"not a journal", "not a journal"), (b"SQLite format 3\x00" + b"\x01" * 200, "put back a copy")],
)
def test_a_broken_journal_is_one_sentence(garden: Path, types: Any, content: bytes, sentence: str) -> None:
    garden.with_name("tankdash.journal.db").write_bytes(content)
    for words in (("levels",), ("dip", "north", "60cm"), ("log",), ("undo",)):
        answer = types(*words)
        assert (answer.code, answer.out) == (2, "")
        assert sentence in answer.err
        assert answer.err.count("\n") == 1


def test_a_site_that_is_a_folder_or_not_there_is_one_sentence(folder: Path, types: Any) -> None:
    for name in (".", "missing.yaml"):
        answer = types("levels", "--site", name)
        assert (answer.code, answer.out) == (2, "")
        assert answer.err.count("\n") == 1
        assert "Traceback" not in answer.err


def test_the_screen_needs_a_terminal(garden: Path, types: Any) -> None:
    answer = types(now=None)
    assert (answer.code, answer.out) == (2, "")
    assert "needs a terminal" in answer.err


def test_without_a_command_the_screen_opens(garden: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import types as kinds

    opened: list[Any] = []
    fake = kinds.ModuleType("tankdash.tui.app")
    fake.run_screen = lambda *given: opened.append(given) or 0  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "tankdash.tui.app", fake)
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    assert edge.main(["--journal", "other.db"]) == 0
    ((site, journal, now),) = opened
    assert (site, journal, now) == (Path("tankdash.yaml"), Path("other.db"), None)


@pytest.mark.parametrize(
    "words", [("calendar", "\ud800.ics"), ("note", "half \ud83d"), ("--site", "\udfff", "levels")]
)
def test_half_a_character_is_refused_before_anything_is_written(
    garden: Path, types: Any, words: tuple[str, ...]
) -> None:
    """What no file can keep; bytes of the shell that are no text come as other halves, and those are kept."""
    answer = types(*words)
    assert (answer.code, answer.out) == (2, "")
    assert "half a character" in answer.err
    assert types("note", "from the shell \udcff").code == 0
