"""A disk that is full, where one may be mounted: all acknowledged is kept, and the garden can be looked at."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from small_disk import NOT_HERE, STEPS, can_mount
from trusting import Count, times

SIZES = times((60, 100, 140, 200), tuple(range(20, 420, 4)))
"""Kilobytes, from hardly the site file to nearly enough."""


def test_a_full_disk_keeps_what_was_acknowledged_and_can_be_looked_at(own_home: Path) -> None:
    """Once there was not even a look at the tanks, since SQLite shares memory through a file of its own."""
    script = Path(__file__).with_name("small_disk.py")
    done = subprocess.run(
        [sys.executable, str(script), *map(str, SIZES)], capture_output=True, text=True, cwd=own_home
    )
    if not can_mount():
        assert done.returncode == 1
        assert done.stderr.strip() == NOT_HERE
        return
    assert done.returncode == 0, done.stderr[-3000:]
    count = Count("on a full disk")
    sentences = set()
    for line in done.stdout.splitlines():
        told = json.loads(line)
        count("disks")
        for kind in ("done", "looks", "refused", "kept"):
            count(kind, told.get(kind, 0))
        sentences.update(told["sentences"])
    count.say()
    print("\n".join(sorted(sentences)))
    assert count["disks"] == len(SIZES)
    assert count["done"] + count["looks"] + count["refused"] == STEPS * len(SIZES)
    assert min(count["looks"], count["kept"], count["refused"]) > 2 * len(SIZES)
