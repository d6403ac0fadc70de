"""Settings that all tests share."""

from __future__ import annotations

from hypothesis import settings

# A slow machine is no failing test: examples are limited by number, never by the clock.
settings.register_profile("by number", deadline=None)
settings.load_profile("by number")
