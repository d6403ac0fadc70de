"""What is kept from one start to the next is only ever a copy: warm, cold or broken, the answer is the same."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tankdash import kept
from tankdash.cli.main import main
from tankdash.site import SiteError, load
from tankdash.site.starter import demo_text


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a cache folder of the test's own."""
    folder = tmp_path / "cache"
    monkeypatch.setenv("TANKDASH_CACHE", str(folder))
    return folder


@pytest.fixture
def site_file(tmp_path: Path) -> Path:
    """Return the demo's site file."""
    path = tmp_path / "garden.yaml"
    path.write_text(demo_text(date(2026, 6, 1)), encoding="utf-8")
    return path


def only_file(cache: Path) -> Path:
    """Return the one kept file."""
    (found,) = cache.glob("*.kept")
    return found


def refuse_to_parse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the YAML reader fail, so that only a kept site can be had."""

    def no_reading(path: Path) -> None:
        raise AssertionError(f"{path} was parsed")

    monkeypatch.setattr("tankdash.site.loading.load_site", no_reading)


def test_an_unchanged_site_file_is_not_parsed_again(
    cache: Path, site_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = load(site_file)
    refuse_to_parse(monkeypatch)
    assert load(site_file) == first


def test_every_site_that_comes_with_the_program_is_kept_whole(
    cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = sorted((Path(__file__).parents[2] / "configs").glob("*.yaml"))
    first = [load(file) for file in files]
    refuse_to_parse(monkeypatch)
    assert files
    assert [load(file) for file in files] == first


def test_a_changed_site_file_is_read_although_its_time_and_size_are_the_same(
    cache: Path, site_file: Path
) -> None:
    before = load(site_file)
    status = site_file.stat()
    text = site_file.read_text(encoding="utf-8")
    site_file.write_text(text.replace("cm", "mm", 1), encoding="utf-8")
    os.utime(site_file, ns=(status.st_atime_ns, status.st_mtime_ns))
    assert site_file.stat().st_size == status.st_size
    assert load(site_file) != before


def test_a_broken_site_file_is_never_hidden(cache: Path, site_file: Path) -> None:
    load(site_file)
    site_file.write_text(site_file.read_text(encoding="utf-8") + "\ntank: {}\n", encoding="utf-8")
    with pytest.raises(SiteError, match="tank"):
        load(site_file)


def test_a_site_is_read_afresh_when_that_is_asked_for(
    cache: Path, site_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load(site_file)
    refuse_to_parse(monkeypatch)
    with pytest.raises(AssertionError):
        load(site_file, afresh=True)


def test_check_always_reads_the_file_itself(
    cache: Path, site_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    load(site_file)

    def no_copy(name: str, key: bytes) -> None:
        raise AssertionError(f"{name} was taken from what is kept")

    monkeypatch.setattr(kept, "take", no_copy)
    assert main(["check", "--site", str(site_file)]) == 0
    assert "sound" in capsys.readouterr().out


def cut_short(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-7])


def turn_a_bit(file: Path) -> None:
    raw = bytearray(file.read_bytes())
    raw[-40] ^= 4
    file.write_bytes(raw)


def empty(file: Path) -> None:
    file.write_bytes(b"")


def make_it_another_thing(file: Path) -> None:
    file.write_bytes(b"SQLite format 3\x00" * 40)


def make_it_a_folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


def let_others_write(file: Path) -> None:
    file.chmod(0o666)


def let_others_into_the_folder(file: Path) -> None:
    file.parent.chmod(0o777)


@pytest.mark.parametrize(
    "harm",
    [
        cut_short,
        turn_a_bit,
        empty,
        make_it_another_thing,
        make_it_a_folder,
        let_others_write,
        let_others_into_the_folder,
    ],
)
def test_a_kept_file_that_is_not_as_it_was_is_no_file(
    cache: Path, site_file: Path, harm: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = load(site_file)
    harm(only_file(cache))
    assert load(site_file) == first
    harm_again = next(cache.glob("*.kept"))
    if harm_again.is_file():
        harm(harm_again)
    refuse_to_parse(monkeypatch)
    with pytest.raises(AssertionError, match="was parsed"):
        load(site_file)


def test_another_version_of_the_program_takes_nothing_up(
    cache: Path, site_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = load(site_file)
    monkeypatch.setattr(kept, "_program", lambda: b"an older one")
    assert load(site_file) == first
    refuse_to_parse(monkeypatch)
    assert load(site_file) == first
    monkeypatch.setattr(kept, "_program", lambda: b"a newer one")
    with pytest.raises(AssertionError):
        load(site_file)


def test_where_nothing_can_be_kept_the_files_are_read(
    tmp_path: Path, site_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TANKDASH_CACHE", "")
    first = load(site_file)
    in_the_way = tmp_path / "file"
    in_the_way.write_text("no folder")
    monkeypatch.setenv("TANKDASH_CACHE", str(in_the_way / "deeper"))
    assert load(site_file) == first
    assert load(site_file) == first


def test_a_kept_file_can_name_no_function(cache: Path) -> None:
    for forged in (os.system, eval, Path, getattr, load, kept.keep):
        with pytest.raises(pickle.UnpicklingError):
            kept._Reader(BytesIO(pickle.dumps(forged))).load()


def test_only_plain_records_days_and_zones_come_back(cache: Path) -> None:
    told = (
        date(2026, 5, 4),
        datetime(2026, 5, 4, 7, tzinfo=UTC),
        ZoneInfo("Europe/Lisbon"),
        {"a": (1.5, None)},
    )
    kept.keep("told", b"key", told)
    assert kept.take("told", b"key") == told
    assert kept.take("told", b"another key") is None
    kept.keep("told", b"key", Path("somewhere"))
    assert kept.take("told", b"key") is None


def test_what_is_kept_belongs_to_its_owner_alone(cache: Path, site_file: Path) -> None:
    load(site_file)
    assert cache.stat().st_mode & 0o777 == 0o700
    assert only_file(cache).stat().st_mode & 0o777 == 0o600


def test_the_folder_does_not_grow_without_end(cache: Path, site_file: Path, tmp_path: Path) -> None:
    for number in range(kept.MOST_FILES + 5):
        copy = tmp_path / f"copy-{number}.yaml"
        copy.write_bytes(site_file.read_bytes())
        load(copy)
    assert len(list(cache.iterdir())) == kept.MOST_FILES


def test_the_same_site_at_two_places_knows_its_own_place(
    cache: Path, site_file: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.yaml"
    other.write_bytes(site_file.read_bytes())
    assert load(site_file).path == site_file
    assert load(other).path == other
    assert replace(load(other), path=None) == replace(load(site_file), path=None)


@pytest.mark.parametrize(
    "harm", [None, cut_short, turn_a_bit, empty, let_others_write, let_others_into_the_folder]
)
def test_commands_answer_alike_whatever_became_of_what_was_kept(
    cache: Path, site_file: Path, harm: Callable[[Path], None] | None, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = ["--site", str(site_file), "--now", "2026-06-01T08:00+02:00"]
    assert main(["dip", "gate", "60cm", *typed]) == 0
    capsys.readouterr()
    answers = []
    for _ in range(3):
        assert main(["levels", "--json", *typed]) == 0
        answers.append(capsys.readouterr().out)
        if harm is not None:
            for file in cache.glob("*.kept"):
                harm(file)
    assert answers[0] == answers[1] == answers[2]
    assert '"basis": "dip"' in answers[0]
