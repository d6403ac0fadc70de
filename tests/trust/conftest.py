"""What every attack gets: an empty folder to stand in, with a home of its own, and gardens to attack."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from trusting import GARDEN


@pytest.fixture
def folder(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in an empty folder, with a home and an environment of its own."""
    stand = tmp_path / "garden"
    stand.mkdir()
    monkeypatch.chdir(stand)
    return stand


@pytest.fixture
def garden(folder: Path) -> Path:
    """Return a garden with everything a site file may hold, found by itself."""
    path = folder / "tankdash.yaml"
    path.write_text(GARDEN, encoding="utf-8")
    return path


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read a site file whose bytes are the same, and build the parser, only once: what is attacked comes after."""
    import tankdash.site
    from tankdash.cli import parser
    from tankdash.site.model import Site

    read = tankdash.site.load
    known: dict[tuple[str, bytes], Site] = {}

    def load(path: Path, *, afresh: bool = False) -> Site:
        if not path.is_file():
            return read(path, afresh=afresh)
        key = (str(path), path.read_bytes())
        if key not in known:
            known[key] = read(path)
        return known[key]

    built = parser.build()
    monkeypatch.setattr(tankdash.site, "load", load)
    monkeypatch.setattr(parser, "build", lambda: built)
