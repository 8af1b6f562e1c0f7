"""Quantities as mechanics type them, and their conversion (through pint, loaded only when a unit changes)."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from faulttree.errors import BadAnswer

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit by the spelling used everywhere in the program: what it measures, its name in pint, how it is typed.

    ``typed`` are spellings in lower case; capitals do not matter in them. ``exactly`` are spellings in which they do:
    a meter that reads MΩ is a million times off from one that reads mΩ.
    """

    symbol: str
    measures: str
    pint: str
    typed: tuple[str, ...]
    exactly: tuple[str, ...] = ()


UNITS = (
    Unit("V", "voltage", "volt", ("v", "volt", "volts", "vdc", "v.dc")),
    Unit("mV", "voltage", "millivolt", ("mv", "millivolt", "millivolts")),
    Unit("A", "current", "ampere", ("a", "amp", "amps", "ampere", "amperes")),
    Unit("mA", "current", "milliampere", ("ma", "milliamp", "milliamps", "milliampere", "milliamperes")),
    Unit("ohm", "resistance", "ohm", ("ohm", "ohms", "ω")),
    Unit("mohm", "resistance", "milliohm", ("milliohm", "milliohms"), ("mohm", "mohms", "mOhm", "mΩ")),
    Unit("kohm", "resistance", "kiloohm", ("kohm", "kohms", "kω", "kiloohm", "kilohm", "kilohms")),
    Unit("megohm", "resistance", "megaohm", ("megohm", "megohms", "megaohm"), ("Mohm", "Mohms", "MOhm", "MΩ")),
    Unit("psi", "pressure", "psi", ("psi", "psig", "lbf/in2", "lb/in2")),
    Unit("kPa", "pressure", "kilopascal", ("kpa", "kilopascal")),
    Unit("MPa", "pressure", "megapascal", (), ("MPa",)),
    Unit("bar", "pressure", "bar", ("bar", "bars")),
    Unit("inHg", "pressure", "inch_Hg", ("inhg", "in.hg", '"hg', "″hg")),
    Unit("N", "force", "newton", ("n", "newton", "newtons")),
    Unit("kN", "force", "kilonewton", ("kilonewton", "kilonewtons"), ("kN",)),
    Unit("lbf", "force", "force_pound", ("lbf",)),
    Unit("kgf", "force", "force_kilogram", ("kgf", "kp")),
    Unit("ozf", "force", "force_ounce", ("ozf",)),
    Unit("kg", "mass", "kilogram", ("kg", "kgs", "kilogram", "kilograms")),
    Unit("lb", "mass", "pound", ("lb", "lbs", "pound", "pounds")),
    Unit("N.m", "torque", "newton * meter", ("n.m", "nm")),
    Unit("lbf.in", "torque", "force_pound * inch", ("lbf.in", "in.lbf", "in.lb", "in.lbs", "inlb", "inlbs", "lb.in")),
    Unit("lbf.ft", "torque", "force_pound * foot", ("lbf.ft", "ft.lbf", "ft.lb", "ft.lbs", "ftlb", "ftlbs", "lb.ft")),
    Unit("mm", "length", "millimeter", ("mm", "millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("cm", "length", "centimeter", ("cm",)),
    Unit("m", "length", "meter", ("m", "metre", "metres", "meter", "meters")),
    Unit("in", "length", "inch", ("in", "inch", "inches", '"', "″", "”")),
    Unit("ft", "length", "foot", ("ft", "foot", "feet", "'", "′")),
    Unit("s", "time", "second", ("s", "sec", "secs", "second", "seconds")),
    Unit("min", "time", "minute", ("min", "mins", "minute", "minutes")),
    Unit("h", "time", "hour", ("h", "hr", "hrs", "hour", "hours")),
    Unit("degC", "temperature", "degC", ("°c", "c", "degc", "deg.c", "celsius")),
    Unit("degF", "temperature", "degF", ("°f", "f", "degf", "deg.f", "fahrenheit")),
    Unit("kn", "speed", "knot", ("kn", "kt", "kts", "knot", "knots", "kias")),
    Unit("m/s", "speed", "meter / second", ("m/s",)),
    Unit("km/h", "speed", "kilometer / hour", ("km/h", "kmh", "kph")),
    Unit("L", "volume", "liter", ("l", "litre", "litres", "liter", "liters")),
    Unit("mL", "volume", "milliliter", ("ml", "cc", "cm3")),
    Unit("US gal", "volume", "gallon", ("gal", "us.gal", "u.s.gal", "gallon", "gallons")),
    Unit("L/min", "flow", "liter / minute", ("l/min", "lpm", "l.per.min", "litres/min", "liters/min")),
    Unit("US gal/min", "flow", "gallon / minute", ("gal/min", "us.gal/min", "gpm", "gal.per.min")),
    Unit("drops/min", "dripping", "count / minute", ("drops/min", "drop/min", "drops.per.min", "drops.per.minute")),
    Unit("drops/h", "dripping", "count / hour", ("drops/h", "drop/h", "drops.per.h", "drops.per.hour")),
    Unit("per hour", "how often", "count / hour", ("per.hour", "per.h", "an.hour", "starts.per.hour", "starts/h")),
    Unit("per min", "how often", "count / minute", ("per.min", "per.minute", "starts.per.minute", "starts/min")),
    Unit("strokes", "strokes", "count", ("stroke", "strokes")),
    Unit("deg", "angle", "degree", ("deg", "degs", "degree", "degrees", "°")),
    Unit("turn", "angle", "turn", ("turn", "turns", "rev", "revs")),
)
"""The units that readings come in, those of one kind together, the usual one first."""

EXACTLY = {spelling: unit for unit in UNITS for spelling in unit.exactly}
TYPED = {spelling: unit for unit in UNITS for spelling in unit.typed}
SYMBOLS = {unit.symbol: unit for unit in UNITS}
MASS_FOR_FORCE = {"lb": "lbf", "kg": "kgf"}

_NUMBER = r"[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+\-−]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(\S.*?)?\s*", re.IGNORECASE)
_FRACTION = re.compile(r"\s*(?:(\d{1,4})(?:\s+|-))?(\d{1,3})/(\d{1,3})(?![\d/])\s*(\S.*?)?\s*")
"""A rule is read in parts of an inch: 5/32 in, 1 5/32 in, 1-5/32 in."""

_THOUSANDS = re.compile(r"[+\-−]?[1-9]\d{0,2},\d{3}")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit, spelt as in ``UNITS``."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


def unit_named(typed: str) -> str:
    """The usual spelling of a typed unit ("lb-in" and "in lbf" are "lbf.in"). Raises BadAnswer if it is not known."""
    spelt = typed.strip().replace("\u2126", "Ω")  # the sign for ohm, and the Greek letter that it looks like
    spelt = re.sub(r"\s*/\s*", "/", spelt).replace("²", "2").replace("³", "3")
    # A product may be written with a point, a cross, a hyphen or a space between.
    spelt = re.sub(r"[\s·•⋅×*\-‑.]+", ".", spelt).rstrip(".").replace("°.", "°")
    unit = EXACTLY.get(spelt) or TYPED.get(spelt.lower())
    if unit is None:
        raise BadAnswer(_unknown(typed.strip(), spelt))
    return unit.symbol


def parse_quantity(typed: str, usual: str | None = None) -> Quantity:
    """A typed value with its unit, such as "3.1 V" or "5/32 in"; a bare number is taken in the unit ``usual``.

    Raises BadAnswer saying what would be right.
    """
    shown = typed.strip()
    parts = _FRACTION.fullmatch(typed)
    if parts and int(parts[3]):
        value = int(parts[1] or 0) + int(parts[2]) / int(parts[3])
        return Quantity(value, _unit_of(shown, parts[4], usual))
    found = _QUANTITY.fullmatch(typed)
    if not found:
        raise BadAnswer(f"{shown!r} is not a value with its unit; write a decimal number and a unit, such as 3.1 V")
    number, unit = found[1].replace("−", "-"), found[2]
    if unit is not None and re.match(r"[.,/\d]", unit):
        raise BadAnswer(f"{shown!r} is not one number with a unit; write it as a decimal, such as 0.125 in or 1500 psi")
    if _THOUSANDS.fullmatch(number):
        whole, decimal = number.replace(",", ""), number.replace(",", ".")
        named = f" {unit or usual}" if unit or usual else ""
        raise BadAnswer(f"{shown!r} can be read in two ways; write {whole}{named} or {decimal}{named}")
    value = float(number.replace(",", "."))
    if not math.isfinite(value):
        raise BadAnswer(f"{shown!r} is too large to be a reading")
    return Quantity(value, _unit_of(shown, unit, usual))


def _unit_of(shown: str, unit: str | None, usual: str | None) -> str:
    if unit is None and usual is None:
        raise BadAnswer(f"{shown!r} has no unit; write it with one, such as {shown} V")
    return unit_named(unit or usual or "")


def convert(quantity: Quantity, unit: str) -> Quantity:
    """The same quantity in another unit, spelt in any way. Raises BadAnswer where the two do not measure the same."""
    old, new = SYMBOLS[unit_named(quantity.unit)], SYMBOLS[unit_named(unit)]
    if old == new:
        return Quantity(quantity.value, new.symbol)
    if old.measures != new.measures:
        raise BadAnswer(_other_kind(quantity, old, new))
    value = _registry().Quantity(quantity.value, old.pint).to(new.pint).magnitude
    return Quantity(float(value), new.symbol)


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # a third of a second, so only when a unit really changes

    return pint.UnitRegistry()


def _unknown(typed: str, spelt: str) -> str:
    by_capitals = [each.symbol for exact, each in EXACTLY.items() if exact.lower() == spelt.lower()]
    if by_capitals:
        choice = " or ".join(dict.fromkeys(by_capitals))
        return f"the unit {typed!r} is not clear in these capitals; write {choice}"
    return f"the unit {typed!r} is not known; usual ones are {_usual()}"


@cache
def _usual() -> str:
    first: dict[str, str] = {}
    for unit in UNITS:
        first.setdefault(unit.measures, unit.symbol)
    return ", ".join(first.values())


def _other_kind(quantity: Quantity, old: Unit, new: Unit) -> str:
    right = [unit.symbol for unit in UNITS if unit.measures == new.measures]
    if new.measures == "force" and old.symbol in MASS_FOR_FORCE:
        right = [MASS_FOR_FORCE[old.symbol], *(unit for unit in right if unit != MASS_FOR_FORCE[old.symbol])]
    asked = f"{quantity.value:g} {old.symbol} measures {old.measures}, and {new.measures} is asked for"
    return f"{asked}; write it in {' or '.join(filter(None, (', '.join(right[:-1]), right[-1])))}"
