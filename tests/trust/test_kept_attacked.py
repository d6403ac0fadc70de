"""The folder of kept answers in bad hands: whatever lies there, the files are read, and nothing there is run."""

from __future__ import annotations

import os
import pickle
import random
import stat
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from trusting import Count, keeps_its_promises, times, type_in

from tankdash import kept

NOW = ("--now", "2026-06-10T12:00")
RAN: list[str] = []


@pytest.fixture
def cache(garden: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Return the folder of kept answers, with the garden kept in it."""
    place = tmp_path / "cache"
    monkeypatch.setenv("TANKDASH_CACHE", str(place))
    assert type_in(*NOW, "levels").code == 0
    assert kept_file(place).stat().st_size > 1000
    return place


def kept_file(place: Path) -> Path:
    (found,) = place.glob("*.kept")
    return found


def answers_are_right() -> None:
    """Look that the garden is still told of as its file says."""
    answer = type_in(*NOW, "levels", "--json")
    keeps_its_promises(answer)
    assert answer.code == 0
    assert answer.json["site"] == "Trusted garden"
    assert sorted(answer.json["tanks"]) == ["barrel", "late", "low", "middle", "north"]


def sealed(place: Path, body: bytes) -> bytes:
    """Return a kept file with another content, signed as this very program signs its own."""
    head = kept_file(place).read_bytes()[: len(kept._MARK) + kept._DIGEST]
    return head + kept.digest_of(body) + body


def run(word: str) -> str:
    RAN.append(word)
    return word


class Runs:
    """Asks to be made by a call."""

    def __init__(self, call: Callable[..., Any], *words: Any) -> None:
        self.made = call, words

    def __reduce__(self) -> tuple[Callable[..., Any], tuple[Any, ...]]:
        return self.made


def nested(depth: int) -> object:
    thing: object = ()
    for _ in range(depth):
        thing = (thing, thing)
    return thing


EVIL: dict[str, Callable[[], bytes]] = {
    "a call of our own": lambda: pickle.dumps(Runs(run, "run")),
    "a command": lambda: pickle.dumps(Runs(os.system, "touch ran")),
    "a call by import": lambda: b"cbuiltins\n__import__\n(Vos\ntR.",
    "an attribute by dots": lambda: pickle.dumps(Runs(run, "x")).replace(b"run", b"kept.os.system"),
    "a module of ours with a call": lambda: b"\x80\x04\x8c\x11tankdash.cli.main\x8c\x04main\x93]\x85R.",
    "its own door": lambda: b"\x80\x04\x8c\x10tankdash.__main__\x8c\x04main\x93)R.",
    "a path as a zone": lambda: b"\x80\x04\x8c\x04zone\x8c\x0f../../etc/passwd\x86Q.",
    "another thing named": lambda: b"\x80\x04\x8c\x04file\x8c\x01x\x86Q.",
    "nothing": lambda: b"",
    "half": lambda: b"\x80\x05\x95\xff\xff\xff\xff\xff\xff\xff\x7f",
    "a long list": lambda: pickle.dumps([0] * 300_000),
    "another thing": lambda: pickle.dumps({"site": "x"}),
    "nested": lambda: pickle.dumps(nested(60)),
    "deep": lambda: b"\x80\x04" + b"(" * 100_000 + b"t" * 100_000 + b".",
    "a huge number of memory places": lambda: b"\x80\x04]r\xff\xff\xff\x7f.",
}  # fmt: skip


@pytest.mark.parametrize("kind", EVIL)
def test_a_forged_file_is_never_run_and_never_believed(kind: str, cache: Path) -> None:
    """The forger knows the seal; yet only plain records of the program can come out."""
    file = kept_file(cache)
    file.write_bytes(sealed(cache, EVIL[kind]()))
    answers_are_right()
    assert RAN == []
    assert not Path("ran").exists()


def test_a_kept_file_with_its_bytes_disturbed_is_the_same_as_none(cache: Path) -> None:
    file = kept_file(cache)
    good = file.read_bytes()
    key = kept.digest_of_file(Path("tankdash.yaml"))
    assert key is not None
    dice = random.Random("kept")
    count = Count("kept files disturbed")
    for _ in range(times(20, 2000)):
        spoilt = bytearray(good)
        for _ in range(dice.choice((1, 1, 5))):
            spoilt[dice.randrange(len(spoilt))] ^= 1 << dice.randrange(8)
        if dice.random() < 0.3:
            del spoilt[dice.randrange(len(spoilt)) :]
        if is_signed := dice.random() < 0.5:  # so that the reader itself meets it
            file.write_bytes(good)
            spoilt = bytearray(sealed(cache, bytes(spoilt[len(kept._MARK) + 2 * kept._DIGEST :])))
            count("signed again")
        file.write_bytes(bytes(spoilt))
        kept.take(file.stem, key)  # never raises, and never runs anything
        if not is_signed:
            assert spoilt == good or kept.take(file.stem, key) is None
            answers_are_right()
            file.write_bytes(good)
        count("tried")
    count.say()


def a_pipe(file: Path) -> None:
    os.mkfifo(file)


def a_folder(file: Path) -> None:
    file.mkdir()


def a_link(file: Path) -> None:
    other = file.with_name("other")
    other.write_bytes(b"somebody else's")
    file.symlink_to(other)


def a_dead_link(file: Path) -> None:
    file.symlink_to(file.with_name("nowhere"))


def a_ring(file: Path) -> None:
    file.symlink_to(file)


@pytest.mark.parametrize("lay", [a_pipe, a_folder, a_link, a_dead_link, a_ring])
def test_what_lies_in_the_way_is_not_waited_for_nor_followed(
    lay: Callable[[Path], None], cache: Path
) -> None:
    file = kept_file(cache)
    file.unlink()
    lay(file)
    answers_are_right()
    answers_are_right()
    if (other := file.with_name("other")).exists():
        assert other.read_bytes() == b"somebody else's"


@pytest.mark.parametrize("what", ["file", "folder"])
@pytest.mark.parametrize("mode", [0o666, 0o620, 0o602])
def test_what_others_could_have_written_is_not_believed(cache: Path, what: str, mode: int) -> None:
    file = kept_file(cache)
    key = kept.digest_of_file(Path("tankdash.yaml"))
    assert key is not None
    assert kept.take(file.stem, key) is not None
    (file if what == "file" else cache).chmod(mode | (0o100 if what == "folder" else 0))
    assert kept.take(file.stem, key) is None
    cache.chmod(0o700)


def test_what_another_owns_is_not_believed(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = kept_file(cache)
    key = kept.digest_of_file(Path("tankdash.yaml"))
    assert key is not None
    me = os.geteuid()
    monkeypatch.setattr(os, "geteuid", lambda: me + 1)
    assert kept.take(file.stem, key) is None
    answers_are_right()


def test_kept_files_are_the_owners_alone_and_no_file_of_others_goes(cache: Path) -> None:
    """The folder may be one that holds other things, too."""
    for number in range(60):
        (cache / f"mine-{number}.new").write_text("the owner's")
        (cache / f"notes-{number}.kept").write_text("the owner's")
    before = os.umask(0)
    try:
        for number in range(kept.MOST_FILES + 5):
            kept.keep(f"site-{number:032x}", b"key", 1)
    finally:
        os.umask(before)
    ours = [file for file in cache.iterdir() if kept._OURS.fullmatch(file.name)]
    assert len(ours) == kept.MOST_FILES
    assert all(stat.S_IMODE(file.stat().st_mode) == 0o600 for file in ours)
    assert len(list(cache.glob("mine-*.new"))) == len(list(cache.glob("notes-*.kept"))) == 60


def test_many_at_once_keep_whole_files(cache: Path) -> None:
    threads = [
        threading.Thread(
            target=lambda n=n: [kept.keep("site-" + "a" * 32, b"key", "x" * 50_000 * n) for _ in range(20)]
        )
        for n in range(1, 5)
    ]
    for thread in threads:
        thread.start()
    while any(thread.is_alive() for thread in threads):
        found = kept.take("site-" + "a" * 32, b"key")
        assert found is None or len(found) % 50_000 == 0
    for thread in threads:
        thread.join()
    assert kept.take("site-" + "a" * 32, b"key") is not None
    assert not list(cache.glob("*.new"))
