"""The site file changed from the screen: killed at any moment, with somebody's link in the way, on a bad disk."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tankdash.site.rewriting import BEFORE, RewriteError, read_original, rewrite

SITE = """\
site: Plum yard
timezone: Europe/Lisbon
units: metric
datum: the slab
tanks:
  one: {base: 20 cm, shape: {kind: upright, diameter: 60 cm, height: 1 m}}
outlets:
  tap: {tank: one, at: 10 cm}
"""
OTHER = SITE.replace("20 cm", "21 cm")
OVER_AND_OVER = """
import os
from pathlib import Path
from tankdash.site.rewriting import read_original, rewrite
path = Path("garden.yaml")
os.write(1, b"ready\\n")
while True:
    original = read_original(path)
    text = original.text
    rewrite(original, text.replace("20 cm", "21 cm") if "20 cm" in text else text.replace("21 cm", "20 cm"))
"""


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "garden.yaml"
    path.write_text(SITE)
    return path


def test_killed_at_any_moment_the_file_and_the_one_before_are_whole_and_nothing_stays(path: Path) -> None:
    dice = random.Random("rewriting")
    for _ in range(6):
        child = subprocess.Popen([sys.executable, "-c", OVER_AND_OVER], stdout=subprocess.PIPE)
        assert child.stdout is not None
        assert child.stdout.readline() == b"ready\n"
        time.sleep(0.05 + dice.random() * 0.2)
        child.kill()
        child.communicate()
        for file in (path, path.with_name(path.name + BEFORE)):
            assert not file.exists() or file.read_text() in (SITE, OTHER), file
    (path.parent / ".tankdash-0123456789abcdef.part").write_text("half of a")
    rewrite(read_original(path), OTHER if path.read_text() == SITE else SITE)
    assert sorted(file.name for file in path.parent.iterdir()) == [path.name, path.name + BEFORE]


def test_a_link_where_the_old_one_is_kept_is_replaced_and_not_followed(path: Path) -> None:
    mine = path.with_name("mine.txt")
    mine.write_text("somebody else's")
    path.with_name(path.name + BEFORE).symlink_to(mine)
    kept = rewrite(read_original(path), OTHER)
    assert kept is not None
    assert mine.read_text() == "somebody else's"
    assert (kept.read_text(), path.read_text()) == (SITE, OTHER)


def test_a_disk_that_fails_under_the_old_one_leaves_the_one_before_whole(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    first = rewrite(read_original(path), OTHER)
    assert first is not None

    def no_room(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(RewriteError, match="cannot be replaced"):
        rewrite(read_original(path), SITE)
    assert (first.read_text(), path.read_text()) == (SITE, OTHER)
