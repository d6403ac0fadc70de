"""A disk that is really full: a garden on a few pages of memory, in a namespace of its own.

    python tests/trust/small_disk.py 40 100 200

For each size in kilobytes a disk is laid out, the garden is used until nothing more goes onto it, and then given room
again. What is printed is one line of JSON a size. Needs Linux, and leave to mount within a namespace.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from tempfile import mkdtemp

HERE = Path(__file__).resolve()
NOW = ("--now", "2026-06-10T12:00")
STEPS = 40
INSIDE = "--inside"
NOT_HERE = (
    "A full disk needs leave to mount one: run this on Linux, where `unshare --map-root-user --mount` works."
)


def mounted(size: str, place: Path) -> None:
    """Lay a disk of that size over a folder; one that is there already becomes of that size."""
    how = (
        ["-o", f"remount,size={size}"] if place.is_mount() else ["-t", "tmpfs", "-o", f"size={size}", "none"]
    )
    subprocess.run(["mount", *how, str(place)], check=True)


def can_mount() -> bool:
    """Return whether a disk can be had here."""
    if shutil.which("unshare") is None:
        return False
    words = ["unshare", "--map-root-user", "--mount", "mount", "-t", "tmpfs", "none", "/tmp"]
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


def words_of(step: int) -> tuple[str, ...]:
    """Return what is typed at a step: mostly notes, growing longer, and now and then a file or a look."""
    others: dict[int, tuple[str, ...]] = {
        0: ("export", f"out{step}"),
        1: ("calendar", f"chores{step}.ics"),
        2: ("levels", "--json"),
        3: ("demo", "--folder", f"play{step}", "--json"),
        4: ("new", f"new{step}.yaml", "--plain"),
        5: ("chores", "--html", f"chores{step}.html"),
        6: ("log", "--json"),
    }
    return others.get(step % 11, ("note", f"note {step} " + "long words " * (step * 37 % 300), "--json"))


def nothing_is_half_there(folder: Path) -> None:
    """Look at every file put out so far: each is whole, and no part lies about."""
    whole = {
        ".ics": lambda content: content.rstrip().endswith(b"END:VCALENDAR"),
        ".html": lambda content: content.rstrip().endswith(b"</html>"),
        ".csv": lambda content: content.endswith(b"\r\n"),
        ".yaml": lambda content: content.endswith(b"\n"),
    }
    for file in folder.rglob("*"):
        assert not file.name.startswith("."), f"{file} lies about"
        if file.suffix in whole:
            assert whole[file.suffix](file.read_bytes()), f"{file} is half there"


def attack(kilobytes: int) -> dict[str, object]:
    """Use a garden on a disk of that size, and return the counts."""
    from trusting import GARDEN, keeps_its_promises, soundness, type_in

    from tankdash.journal.store import Journal

    disk = Path.cwd()
    counts: Counter[str] = Counter()
    acknowledged: list[str] = []
    sentences: set[str] = set()
    for step in range(STEPS):
        if step == 0:
            (disk / "tankdash.yaml").write_text(GARDEN, encoding="utf-8")
        words = ("dip", "north", "60cm", "--json") if step == 0 else words_of(step)
        answer = type_in(*NOW, *words)
        keeps_its_promises(answer)
        looks = words[0] in ("levels", "log")
        counts[("looks" if looks else "done") if answer.code == 0 else "refused"] += 1
        if looks:
            assert answer.code == 0, f"a full disk can be looked at: {answer}"
        if looks and words[0] == "log":
            assert [entry["uid"] for entry in answer.json["entries"]][-len(acknowledged) :] == acknowledged
        if answer.code == 0 and words[0] in ("note", "dip"):
            acknowledged.append(answer.json["entry"]["uid"])
        if answer.code:
            sentences.add(answer.err.replace(str(step), "#").strip())
            assert any(said in answer.err for said in ("disk is full", "No space left")), answer
        nothing_is_half_there(disk)
    mounted("20m", disk)
    assert type_in(*NOW, "note", "there is room again").code == 0
    assert soundness(disk / "tankdash.journal.db") == "ok"
    with Journal.open(disk / "tankdash.journal.db") as journal:
        kept = [entry.uid for entry in sorted(journal.entries(), key=lambda entry: entry.number)]
    assert kept[:-1] == acknowledged, "all that was acknowledged is there, and nothing that was refused"
    return {"kilobytes": kilobytes, **counts, "kept": len(acknowledged), "sentences": sorted(sentences)}


def inside(sizes: list[int]) -> None:
    """Attack one disk after another, each in a program of its own: a fault of memory would end it."""
    sys.path[:0] = [str(HERE.parent)]
    for kilobytes in sizes:
        place = Path(mkdtemp(prefix="tankdash-disk-"))
        mounted(f"{kilobytes}k", place)
        os.chdir(place)
        os.environ.update({"HOME": str(place), "TANKDASH_CACHE": str(place / "cache"), "TZ": "Europe/Lisbon"})
        sys.stdout.flush()
        pid = os.fork()
        if pid == 0:
            print(json.dumps(attack(kilobytes)), flush=True)
            os._exit(0)
        ended = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
        os.chdir("/")
        subprocess.run(["umount", str(place)], check=True)
        place.rmdir()
        if ended:
            sys.exit(f"On a disk of {kilobytes} kB it ended with {ended}.")


if __name__ == "__main__":
    if sys.argv[1:2] == [INSIDE]:
        inside([int(word) for word in sys.argv[2:]])
    elif not can_mount():
        sys.exit(NOT_HERE)
    else:
        again = [sys.executable, str(HERE), INSIDE, *sys.argv[1:]]
        sys.exit(subprocess.run(["unshare", "--map-root-user", "--mount", *again], check=False).returncode)
