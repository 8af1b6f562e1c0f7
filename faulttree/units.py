"""Quantities as mechanics type them, and their conversion (through pint, loaded only when a unit changes)."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from faulttree.errors import BadAnswer

SPELLINGS = {
    "v": "V", "volt": "V", "volts": "V", "mv": "mV", "a": "A", "amp": "A", "amps": "A", "ma": "mA",
    "ohm": "ohm", "ohms": "ohm", "ω": "ohm", "milliohm": "mohm", "mohm": "mohm", "mω": "mohm",
    "psi": "psi", "kpa": "kPa", "bar": "bar", "inhg": "inHg", "lbf": "lbf", "lb": "lb", "lbs": "lb", "n": "N",
    "kg": "kg", "kgf": "kgf", "ozf": "ozf", "nm": "N.m", "n.m": "N.m", "lbf.in": "lbf.in", "in.lbf": "lbf.in",
    "in.lb": "lbf.in", "lbf.ft": "lbf.ft", "ft.lbf": "lbf.ft", "ft.lb": "lbf.ft", "in": "in", "inch": "in",
    "inches": "in", "mm": "mm", "m": "m", "ft": "ft", "s": "s", "sec": "s", "seconds": "s", "min": "min", "h": "h",
    "°f": "degF", "degf": "degF", "f": "degF", "°c": "degC", "degc": "degC", "c": "degC", "kn": "kn", "kt": "kn",
    "m/s": "m/s", "km/h": "km/h", "l": "L", "gal": "US gal", "us gal": "US gal", "turn": "turn", "turns": "turn",
}  # fmt: skip
"""How a unit may be typed, in lower case, and the spelling used everywhere else."""

PINT_NAMES = {
    "N.m": "newton * meter", "lbf.in": "force_pound * inch", "lbf.ft": "force_pound * foot", "kn": "knot",
    "US gal": "gallon", "mohm": "milliohm", "inHg": "inch_Hg", "lbf": "force_pound", "ozf": "force_ounce",
    "kgf": "force_kilogram", "V": "volt", "mV": "millivolt", "A": "ampere", "mA": "milliampere", "h": "hour",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit."""

    value: float
    unit: str


def unit_named(typed: str) -> str:
    """The usual spelling of a typed unit. Raises BadAnswer for one that is not known."""
    key = re.sub(r"\s*[·*\-]\s*|(?<=\w) (?=\w)", ".", typed.strip().lower())
    key = key.replace("us.gal", "us gal")
    if key not in SPELLINGS:
        raise BadAnswer(f"the unit {typed.strip()!r} is not known; usual ones are V, A, ohm, psi, lbf, N.m, in, mm, s")
    return SPELLINGS[key]


def parse_quantity(typed: str) -> Quantity:
    """A typed value with its unit, such as "3.1 V". Raises BadAnswer saying what would be right."""
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*(\S.*?)\s*", typed)
    if not found:
        raise BadAnswer(f"{typed.strip()!r} is not a value with its unit, such as 3.1 V")
    value = float(found[1].replace(",", "."))
    if not math.isfinite(value):
        raise BadAnswer(f"{typed.strip()!r} is too large to be a reading")
    return Quantity(value, unit_named(found[2]))


def convert(quantity: Quantity, unit: str) -> Quantity:
    """The same quantity in another unit. Raises BadAnswer where the two do not measure the same."""
    wanted = unit_named(unit)
    if quantity.unit == wanted:
        return quantity
    import pint  # a third of a second, so only when a unit really changes

    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    try:
        old = registry.Quantity(quantity.value, PINT_NAMES.get(quantity.unit, quantity.unit))
        return Quantity(float(old.to(PINT_NAMES.get(wanted, wanted)).magnitude), wanted)
    except pint.DimensionalityError as problem:
        raise BadAnswer(f"{quantity.value:g} {quantity.unit} cannot be turned into {wanted}") from problem
