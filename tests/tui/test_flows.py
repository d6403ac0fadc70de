"""The job through the keys a person presses, at 80 x 24."""

from __future__ import annotations

import pytest
from conftest import Garden  # type: ignore[import-not-found]
