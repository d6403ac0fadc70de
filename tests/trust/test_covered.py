"""The coverage-guided attacks at their least: seeds disturbed at random, and guided where atheris is there."""

from __future__ import annotations

import random
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from covered import ATTACKS
from sheets import disturbed
from trusting import GARDEN, Count, times

SEEDS: dict[str, tuple[bytes, ...]] = {
    "quantities": (
        b"\x00 3' 4 1/2\"",
        b"\x01>5.5 in",
        b"\x0260-90 mm",
        b"\x001,5 L",
        b"\x01 25 mm/week",
        b"\x00-1 C",
    ),
    "moments": (b"2026-03-29T01:30", b"yesterday 18:00", b"mon 6:10", b"2026-06-02T10:00+02:00", b"now"),
    "sites": (GARDEN.encode(),),
    "sheets": (
        b"date,rain mm\n2026-01-01,3\n2026-01-02,0.5\n",
        b"Data;chuva (mm)\r\n13/02/2026;3,5\r\n14/02/2026;0\r\n",
        b"EXA00000001,20190101,PRCP,25,T,,S,\nEXA00000001,20190102,TMIN,-14,,,S,\n",
        b"number,uid,kind,at,zone,entered,words,note,import,voids,record\n"
        b"1,a,use,2026-01-01T00:00+00:00,UTC,2026-01-01T00:00+00:00,use 1 L,,,,"
        b'"{""volume_l"":1.0,""outlet"":null,""bed"":null}"\n',
    ),
}
"""What each attack begins with."""


@pytest.mark.parametrize("name", ATTACKS)
def test_seeds_disturbed_at_random_are_read_or_refused(name: str) -> None:
    dice = random.Random(f"covered {name}")
    count = Count(f"disturbed {name}")
    for _ in range(times(25 if name == "sites" else 250, 2_000 if name == "sites" else 50_000)):
        ATTACKS[name](disturbed(dice.choice(SEEDS[name]), dice))
        count("read or refused")
    count.say()


@pytest.mark.parametrize("name", ATTACKS)
def test_the_guided_attack_runs_where_it_can_and_says_where_it_cannot(name: str, folder: Path) -> None:
    """With atheris it finds nothing in so many runs; without, it says in a sentence what is missing."""
    for number, seed in enumerate(SEEDS[name]):
        (folder / f"seed-{number}").write_bytes(seed)
    script = Path(__file__).with_name("covered.py")
    done = subprocess.run(
        [sys.executable, str(script), name, f"-runs={times(300, 200_000)}", str(folder)],
        capture_output=True,
        text=True,
    )
    if find_spec("atheris") is None:
        assert done.returncode == 1
        assert "pip install atheris" in done.stderr
        assert len(done.stderr.splitlines()) == 1
    else:
        assert done.returncode == 0, done.stderr[-3000:]
