"""Quantities as they are typed, and what is said of those that cannot be taken."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book import read_book
from faulttree.errors import BadAnswer
from faulttree.units import UNITS, Quantity, convert, parse_quantity, unit_named
from tests.support.belief_cases import law

SPELLINGS = {
    "V": ["V", "v", "volts", "V DC", "Vdc"],
    "mV": ["mV", "millivolts"],
    "A": ["A", "amps", "amp"],
    "mA": ["mA", "milliamps"],
    "ohm": ["ohm", "Ohms", "Ω", "\u2126"],
    "mohm": ["mohm", "mΩ", "milliohm"],
    "megohm": ["megohm", "MΩ", "Mohm"],
    "psi": ["psi", "PSI", "lbf/in²", "lb / in2"],
    "kPa": ["kPa", "kpa"],
    "bar": ["bar", "Bar"],
    "inHg": ["inHg", "in Hg", "in. Hg", '"Hg'],
    "N.m": ["N·m", "N m", "Nm", "N.m", "N-m", "N*m"],
    "lbf.in": ["lbf·in", "lbf in", "in-lb", "in-lbs", "in·lbf", "in lb", "lb-in", "in.-lb."],
    "lbf.ft": ["lbf·ft", "ft-lb", "ft lbf", "ft·lb"],
    "lbf": ["lbf", "LBF"],
    "N": ["N", "newtons"],
    "kg": ["kg", "KG"],
    "lb": ["lb", "lbs", "lb."],
    "mm": ["mm", "MM"],
    "in": ["in", "in.", "inch", "inches", '"'],
    "ft": ["ft", "feet", "'"],
    "s": ["s", "sec", "seconds", "sec."],
    "degF": ["°F", "° F", "deg F", "F", "degF"],
    "degC": ["°C", "deg C", "C"],
    "kn": ["kn", "kt", "kts", "knots", "KN"],
    "kN": ["kN"],
    "L": ["L", "l", "litres", "liters"],
    "US gal": ["US gal", "gal", "gallons", "U.S. gal"],
    "turn": ["turns", "turn", "revs"],
    "L/min": ["L/min", "l/min", "lpm", "litres / min"],
    "US gal/min": ["gpm", "US gal/min"],
    "drops/min": ["drops/min", "drops per minute", "drop / min"],
    "per hour": ["per hour", "per h", "starts per hour", "starts/h"],
    "strokes": ["strokes", "stroke"],
}


@pytest.mark.parametrize(("unit", "typed"), [(unit, typed) for unit, some in SPELLINGS.items() for typed in some])
def test_units_are_known_as_mechanics_type_them(unit: str, typed: str) -> None:
    """A unit is understood in each of its usual spellings."""
    assert unit_named(typed) == unit


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("3.1 V", 3.1), ("3.1V", 3.1), ("3,1 V", 3.1), (" .5 V ", 0.5), ("5. V", 5.0), ("-3 V", -3.0),
        ("−3 V", -3.0), ("+3 V", 3.0), ("0,125 V", 0.125), ("1e-05 V", 1e-5), ("1500 V", 1500.0), ("1.500 V", 1.5),
    ],
)  # fmt: skip
def test_numbers_are_read_as_they_are_typed(typed: str, value: float) -> None:
    """Point or comma, sign of any sort, with or without a gap before the unit."""
    assert parse_quantity(typed) == Quantity(value, "V")


@pytest.mark.parametrize(
    ("typed", "inches"), [("5/32 in", 5 / 32), ("1 5/32 in", 37 / 32), ('1-5/32"', 37 / 32), ("3/4 inch", 0.75)]
)
def test_parts_of_an_inch_are_read_as_on_a_rule(typed: str, inches: float) -> None:
    """A whole number may stand before them."""
    assert parse_quantity(typed) == Quantity(inches, "in")


def test_a_bare_number_is_in_the_unit_that_is_asked_for() -> None:
    """If one is; another one typed goes before it."""
    assert parse_quantity("23.1", "V") == Quantity(23.1, "V")
    assert parse_quantity("23.1 mV", "V") == Quantity(23.1, "mV")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1,500 psi", "can be read in two ways; write 1500 psi or 1.500 psi"),
        ("12", "'12' has no unit; write it with one, such as 12 V"),
        ("", "is not a value with its unit"),
        ("V", "is not a value with its unit; write a decimal number and a unit, such as 3.1 V"),
        ("nan V", "is not a value with its unit"),
        ("1/0 in", "is not one number with a unit; write it as a decimal"),
        ("1/2/3 in", "is not one number with a unit"),
        ("5/32", "'5/32' has no unit"),
        ("1 500 psi", "is not one number with a unit"),
        ("3.1.2 V", "is not one number with a unit"),
        ("1e999 V", "is too large to be a reading"),
        ("12 smoots", "the unit 'smoots' is not known; usual ones are V, A, ohm"),
        ("5 MOHM", "the unit 'MOHM' is not clear in these capitals; write mohm or megohm"),
    ],
)
def test_what_cannot_be_read_is_named_with_what_would_be_right(typed: str, said: str) -> None:
    """The refusal says what is wrong with it and how to write it."""
    with pytest.raises(BadAnswer) as refused:
        parse_quantity(typed)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("quantity", "unit", "said"),
    [
        (Quantity(3.1, "V"), "psi", "3.1 V measures voltage, and pressure is asked for; write it in psi, kPa"),
        (Quantity(12, "lb"), "lbf", "12 lb measures mass, and force is asked for; write it in lbf, N"),
        (Quantity(5, "kg"), "N", "5 kg measures mass, and force is asked for; write it in kgf, N"),
        (Quantity(1, "kN"), "kn", "1 kN measures force, and speed is asked for; write it in kn"),
    ],
)
def test_a_quantity_of_another_kind_is_refused(quantity: Quantity, unit: str, said: str) -> None:
    """What does not measure what is asked for is not converted, and the units that would do are named."""
    with pytest.raises(BadAnswer, match=said):
        convert(quantity, unit)


@law
@given(st.sampled_from(UNITS), st.floats(-1e6, 1e6))
def test_there_and_back_is_where_it_began(unit: object, value: float) -> None:
    """Converting to any unit of the same kind and back gives the value again."""
    old = next(u for u in UNITS if u is unit)
    for new in UNITS:
        if new.measures == old.measures:
            back = convert(convert(Quantity(value, old.symbol), new.symbol), old.symbol)
            assert back.unit == old.symbol
            assert back.value == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_the_unit_asked_for_may_be_spelt_in_any_way() -> None:
    """A limit in "N m" takes a reading in N·m as it is."""
    assert convert(parse_quantity("3 N·m"), "N m") == Quantity(3.0, "N.m")


def test_pint_is_loaded_only_where_a_unit_changes() -> None:
    """Reading a value and giving it back in the same unit does without the library for units."""
    code = (
        "import sys\nfrom faulttree.units import convert, parse_quantity\n"
        "convert(parse_quantity('12 in-lb'), 'lbf.in')\nprint('pint' in sys.modules)\n"
        "convert(parse_quantity('12 in-lb'), 'N.m')\nprint('pint' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["False", "True"]


@pytest.mark.parametrize("family", ["electromechanical", "engine-driven", "power-pack"])
def test_every_reading_of_the_book_can_be_typed_in_its_own_unit(family: str) -> None:
    """A value with the unit that the screen shows beside the question is taken."""
    book = read_book([Path(__file__).parents[2] / "knowledge"], family).book
    assert book is not None
    units = {check.reading.unit for check in book.checks.values() if check.reading is not None}
    assert units
    assert {unit for unit in units if convert(parse_quantity(f"1 {unit}"), unit).value != 1.0} == set()


def test_starts_an_hour_come_from_starts_a_minute() -> None:
    """How often is converted; strokes have one unit, and what is said of another kind names it alone."""
    assert convert(parse_quantity("0.1 per min"), "per hour").value == pytest.approx(6.0)
    with pytest.raises(BadAnswer, match=r"write it in strokes$"):
        convert(parse_quantity("3 mm"), "strokes")
