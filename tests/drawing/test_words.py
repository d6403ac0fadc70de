"""What the sentences beside the picture say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tankdash.drawing.canvas import as_text
from tankdash.drawing.cells import text_width
from tankdash.drawing.scene import Scene, SceneLink
from tankdash.drawing.words import words

Garden = Callable[..., Scene]


def test_three_totes_in_words(garden: Garden) -> None:
    lines = as_text(words(garden("three totes"))).split("\n")
    assert lines[0] == "1410 L usable of 1800 L in the tanks."
    assert lines[1] == "390 L lies below the outlet (tap at 33 cm) or below a link."
    assert lines[2].endswith("North tote spills first, at 115 cm.")


def test_cut_off_water_says_why(garden: Garden) -> None:
    text = as_text(words(garden("one cut off")))
    assert "Far butt: 0–360 L cut off: the surface is below its way out at 65 cm." in text


def test_closed_links_and_crests_are_named(garden: Garden) -> None:
    text = as_text(words(garden("four shapes")))
    assert "Link shut is closed." in text
    assert "Link over rises over a crest" in text
    assert "bucket is not known; dip it to be sure." in text
    labels = {"shut": "hose to the box"}
    named = as_text(words(replace(garden("four shapes"), links=_named(garden("four shapes"), labels))))
    assert "Hose to the box is closed." in named


def _named(scene: Scene, labels: dict[str, str]) -> tuple[SceneLink, ...]:
    return tuple(replace(link, label=labels.get(link.id, "")) for link in scene.links)


def test_tanks_nobody_knows_share_one_sentence(garden: Garden) -> None:
    scene = garden("three totes")
    unknown = replace(
        scene, tanks=tuple(replace(tank, state="unknown") for tank in scene.tanks[:2]) + scene.tanks[2:]
    )
    assert "North tote and Middle tote are not known; dip them to be sure." in as_text(words(unknown))


def test_a_full_row_says_what_comes_now_spills(garden: Garden) -> None:
    assert "North tote is at its lip: what comes now spills." in as_text(words(garden("three totes", 0.95)))


def test_dry_tanks_are_not_full_of_words(garden: Garden) -> None:
    assert as_text(words(garden("one tank", 0.0))).startswith("The tanks are dry.")
    assert as_text(words(garden("three totes", 0.0))).startswith("Nothing usable of 0–190 L in the tanks.")


@given(width=st.integers(12, 90), which=st.sampled_from(["three totes", "one cut off", "four shapes"]))
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_sentences_wrap_within_the_width_and_lose_no_word(garden: Garden, width: int, which: str) -> None:
    whole = as_text(words(garden(which))).split()
    rows = words(garden(which), width)
    assert all(sum(text_width(span.text) for span in row) <= width for row in rows)
    if width >= 24:
        assert as_text(rows).split() == whole
