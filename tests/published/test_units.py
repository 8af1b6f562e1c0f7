"""Conversions against printed factors.

Source: A. Thompson and B. N. Taylor, Guide for the Use of the International System of Units, NIST Special
Publication 811 (2008), appendix B.8 and B.9. The factors were read in several independent public files that repeat the
tables line by line, not on NIST's own pages. The rule for Fahrenheit (less 32, divided by 1.8) was read in a text
that quotes NIST; the fixed points are textbook knowledge, from memory.

``within`` follows from the digits printed. Factors marked exact follow from the definitions of inch, pound, standard
gravity and nautical mile, and have no rounding.
"""

from __future__ import annotations

import pytest

from faulttree.units import Quantity, convert

EXACT = 1e-12

FACTORS = [
    # from, to, factor, within
    ("lbf", "N", 4.448222, 5e-7),
    ("lbf", "N", 4.4482216152605, EXACT),
    ("psi", "kPa", 6.894757, 5e-7),
    ("bar", "kPa", 100.0, EXACT),
    ("in", "mm", 25.4, EXACT),
    ("ft", "m", 0.3048, EXACT),
    ("lbf.in", "N.m", 0.1129848, 5e-8),
    ("lbf.ft", "N.m", 1.355818, 5e-7),
    ("lb", "kg", 0.4535924, 5e-8),
    ("kn", "m/s", 0.5144444, 5e-8),
    ("kn", "km/h", 1.852, EXACT),
    ("inHg", "kPa", 3.386389, 5e-7),
    ("kgf", "N", 9.80665, EXACT),
    ("ozf", "N", 0.2780139, 5e-8),
    ("US gal", "L", 3.785412, 5e-7),
]


@pytest.mark.parametrize(("old", "new", "factor", "within"), FACTORS)
def test_factors_are_those_printed(old: str, new: str, factor: float, within: float) -> None:
    """One of the old unit is the printed number of the new, and back."""
    assert convert(Quantity(1.0, old), new).value == pytest.approx(factor, abs=within)
    assert convert(Quantity(factor, new), old).value == pytest.approx(1.0, abs=within / factor)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (59, 15)])
def test_temperatures_at_the_fixed_points(fahrenheit: float, celsius: float) -> None:
    """Ice, steam, the point where both scales agree, and the standard day."""
    assert convert(Quantity(fahrenheit, "degF"), "degC").value == pytest.approx(celsius, abs=1e-9)
    assert convert(Quantity(celsius, "degC"), "degF").value == pytest.approx(fahrenheit, abs=1e-9)


def test_a_difference_of_temperatures_has_no_offset() -> None:
    """Eighteen degrees Fahrenheit more are ten degrees Celsius more, wherever one begins."""
    for start in (-40.0, 32.0, 77.0):
        low, high = (convert(Quantity(value, "degF"), "degC").value for value in (start, start + 18.0))
        assert high - low == pytest.approx(10.0, abs=1e-9)
