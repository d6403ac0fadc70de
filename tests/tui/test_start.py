"""What is loaded at the start, and what is not."""

from __future__ import annotations

import json
import subprocess
import sys

CODE = """
import json, sys
import tankdash.tui.app
import tankdash.tui.pages.home
print(json.dumps(sorted(sys.modules)))
"""

NOT_YET = {
    "numpy",
    "scipy",
    "icalendar",
    "pydantic",
    "ruamel.yaml",
    "tankdash.tui.forms.base",
    "tankdash.tui.forms.setup",
    "tankdash.tui.lasting",
    "tankdash.tui.pages.help",
    "tankdash.planning.supply",
    "tankdash.planning.ensemble",
}


def test_the_screen_loads_nothing_heavy_before_it_is_needed() -> None:
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)
    loaded = set(json.loads(done.stdout))
    assert "tankdash.tui.pages.home" in loaded
    assert not loaded & NOT_YET
