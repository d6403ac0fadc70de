"""What is installed is the program and nothing else: a wheel and a source archive are built, looked into and run."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path, PurePosixPath

import pytest

import tankdash

TOP = Path(__file__).resolve().parents[2]
SOURCES = ("pyproject.toml", "README.md", "tankdash")
DATA = {"tankdash/py.typed", "tankdash/site/demo.yaml", "tankdash/tui/tankdash.tcss"}


def run(*words: str, cwd: Path, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, *words],
        cwd=cwd,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build both archives from a copy of the tree, without the network, and return their folder."""
    place = tmp_path_factory.mktemp("package")
    copy, archives = place / "tree", place / "archives"
    copy.mkdir()
    archives.mkdir()
    for name in (*SOURCES, "tests"):
        source = TOP / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__", "goldens"))
        else:
            shutil.copy(source, copy / name)
    # Building a wheel changes sys.argv, so the folder is kept first.
    backend = (
        "from setuptools import build_meta as b; import sys; folder = sys.argv[1];"
        " b.build_wheel(folder); b.build_sdist(folder)"
    )
    run("-c", backend, str(archives), cwd=copy)
    return archives


@pytest.fixture(scope="module")
def wheel(built: Path) -> Path:
    (found,) = built.glob("*.whl")
    return found


def test_the_wheel_holds_the_package_with_its_data_and_no_tests(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert names >= DATA
    assert {PurePosixPath(name).parts[0] for name in names} == {
        "tankdash",
        f"tankdash-{tankdash.__version__}.dist-info",
    }
    assert not [name for name in names if "test" in PurePosixPath(name).name]


def test_the_wheel_holds_every_module_of_the_tree(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    missing = [
        path for path in (TOP / "tankdash").rglob("*.py") if path.relative_to(TOP).as_posix() not in names
    ]
    assert missing == []


def test_the_source_archive_holds_what_a_build_needs(built: Path) -> None:
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as held:
        names = {str(PurePosixPath(*PurePosixPath(name).parts[1:])) for name in held.getnames()}
    assert names >= {"pyproject.toml", "README.md", *DATA}
    assert not [name for name in names if name.startswith("tests")], "a part of the tests is of use to nobody"


def test_the_wheel_alone_runs_and_knows_its_version(wheel: Path, tmp_path: Path) -> None:
    run("-m", "zipfile", "-e", str(wheel), str(tmp_path / "installed"), cwd=tmp_path)
    where = {"PYTHONPATH": str(tmp_path / "installed"), "HOME": str(tmp_path)}
    said = run("-m", "tankdash", "--version", cwd=tmp_path, **where)
    assert said.strip() == f"tankdash {tankdash.__version__}"
    loaded = run("-c", "import tankdash; print(tankdash.__file__)", cwd=tmp_path, **where)
    assert Path(loaded.strip()).is_relative_to(tmp_path)
    laid_out = run("-m", "tankdash", "demo", "--folder", "demo", cwd=tmp_path, **where)
    assert "demo/tankdash.yaml" in laid_out


def test_the_version_is_said_once_and_the_same(wheel: Path) -> None:
    assert wheel.name.startswith(f"tankdash-{tankdash.__version__}-")
