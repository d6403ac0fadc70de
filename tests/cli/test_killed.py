"""A command killed at any moment: what it acknowledged is in the journal, and the journal is sound.

`TANKDASH_LONG=1` makes it long; a plain run takes a few rounds.
"""

from __future__ import annotations

import os
import random
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

from tankdash.journal.store import Journal

ROUNDS = max(12, round(300 * float(os.environ.get("TANKDASH_LONG") or 0.0)))
MANY = """
import sys
from tankdash.cli.main import main
for number in range(200):
    main(["--now", "2026-06-10 12:00", "use", "1L", "--note", f"{sys.argv[1]}-{number}"])
    sys.stdout.flush()
"""


def test_a_command_killed_at_any_moment_loses_nothing_acknowledged(garden: Path) -> None:
    dice = random.Random(20260610)
    acknowledged: set[int] = set()
    path = garden.with_name("tankdash.journal.db")
    for round_number in range(ROUNDS):
        victim = subprocess.Popen(
            [sys.executable, "-c", MANY, str(round_number)],
            cwd=garden.parent,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert victim.stdout is not None
        heard = [victim.stdout.readline() for _ in range(dice.randint(0, 12))]
        victim.kill()
        heard.append(victim.communicate(timeout=60)[0])
        acknowledged |= {int(found) for found in re.findall(r"Noted as entry (\d+),", "".join(heard))}
        with Journal.open(path) as journal:
            entries = journal.entries()
        assert acknowledged <= {entry.number for entry in entries}
        assert [entry.number for entry in entries] == list(range(1, len(entries) + 1))
        if path.exists():
            connection = sqlite3.connect(path)
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            connection.close()
    assert acknowledged
