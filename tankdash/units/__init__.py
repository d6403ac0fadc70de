"""Quantities as people type them, read into SI and written back: exact factors, every unit, named gallons.

Whatever is only partly understood is refused with a sentence that says what to write instead; nothing is dropped.
"""

from tankdash.units.amounts import (
    parse_area,
    parse_head,
    parse_mass,
    parse_pressure,
    parse_share,
    parse_temperature,
    parse_volume,
)
from tankdash.units.digits import QuantityError
from tankdash.units.factors import GRAVITY, WATER_DENSITY, Units
from tankdash.units.lengths import parse_length, parse_length_range
from tankdash.units.rates import Depths, Need, parse_flow, parse_need, parse_rain, parse_rain_rate
from tankdash.units.spans import Span, parse_hours, parse_span
from tankdash.units.writing import (
    format_area,
    format_bearing,
    format_echo_length,
    format_echo_rain,
    format_echo_volume,
    format_flow,
    format_head,
    format_length,
    format_mass,
    format_pressure,
    format_rain,
    format_temperature,
    format_volume,
)

__all__ = [
    "GRAVITY",
    "WATER_DENSITY",
    "Depths",
    "Need",
    "QuantityError",
    "Span",
    "Units",
    "format_area",
    "format_bearing",
    "format_echo_length",
    "format_echo_rain",
    "format_echo_volume",
    "format_flow",
    "format_head",
    "format_length",
    "format_mass",
    "format_pressure",
    "format_rain",
    "format_temperature",
    "format_volume",
    "parse_area",
    "parse_flow",
    "parse_head",
    "parse_hours",
    "parse_length",
    "parse_length_range",
    "parse_mass",
    "parse_need",
    "parse_pressure",
    "parse_rain",
    "parse_rain_rate",
    "parse_share",
    "parse_span",
    "parse_temperature",
    "parse_volume",
]
