"""A reading with all that a record needs: the limit and where it stands, the instrument and its calibration."""

from __future__ import annotations

from faulttree.belief import measured
from faulttree.book.model import Book, Check, Reading
from faulttree.case import CaseState, Instrument
from faulttree.case.course import calibration
from faulttree.dialogue.prompts import NewEntry, Prompt, Reply
from faulttree.errors import BadAnswer
from faulttree.units import SYMBOLS, Quantity, convert, parse_quantity

VIEWS = ("measure", "limit", "instrument")
BACK = "Enter goes back."

FAR_BEYOND = 20
"""Times the limit from which a reading is more likely a slip of the fingers or of the unit."""

SIGNED = ("voltage", "current", "temperature", "angle")
"""Quantities that a reading may have below nothing."""


def limit_line(book: Book, check: Check, state: CaseState | None = None) -> str:
    """The limit in words: the aircraft's own where it is known, else where it is to be found."""
    assert check.reading is not None
    limit = book.limits[check.reading.limit]
    known = state.limits.get(limit.id) if state is not None else None
    if known is not None:
        return f"Limit: {known.value:g} {known.unit}, from {known.reference}."
    typical = f" Typical {limit.typical:g} {limit.unit}; confirm in the manual." if limit.typical is not None else ""
    return f"Limit: {limit.name}, from {limit.where}.{typical}"


def prompt(book: Book, state: CaseState, check: Check, view: str) -> Prompt:
    """Asks for what is still wanted: the limit, then the instrument, then the reading."""
    assert check.reading is not None
    if view == "limit" or check.reading.limit not in state.limits:
        return _ask_limit(book, check, check.reading)
    instrument = _instrument(state, check.reading)
    if view == "instrument" or instrument is None:
        how = (
            "What is it measured with, and until when is that calibrated? A semicolon between.",
            "    NAME AND NUMBER; DATE",
            "Without a date of calibration write the name alone. " + BACK,
        )
        return Prompt("instrument", "Which instrument?", how, text=True, default="", about=check.id)
    used = f"Instrument: {instrument.name}, {calibration(instrument.calibrated)}."
    lines = (
        limit_line(book, check, state), used, f"Type the reading, with its unit if it is not in {check.reading.unit}.",
        "i another instrument, l another limit. " + BACK,
    )  # fmt: skip
    return Prompt("measure", check.name, lines, text=True, default="", about=check.id)


def _instrument(state: CaseState, reading: Reading) -> Instrument | None:
    """The one that this unit was last measured with; a voltmeter reads no torque."""
    return state.instruments.get(reading.unit) or (None if state.instruments else state.instrument)


def _ask_limit(book: Book, check: Check, reading: Reading) -> Prompt:
    lines = (
        "Three things, in this order: the limit, the instrument, the reading. Without a limit no reading is judged.",
        limit_line(book, check),
        "Type the limit, and where it stands in the maker's manual, with a semicolon between:",
        f"    LIMIT {reading.unit}; MANUAL, SECTION AND REVISION",
        "It is kept for this case; a plus in front keeps it in the aircraft's profile too.",
        BACK,
    )
    return Prompt("limit", check.name, lines, text=True, default="", about=check.id)


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """Turns what was typed into an entry; says what is wrong with it otherwise. Nothing typed goes back."""
    check, typed = book.checks[asked.about], typed.strip()
    assert check.reading is not None
    if not typed:
        return Reply()
    if asked.topic == "limit":
        return _limit(check.reading, typed)
    if asked.topic == "instrument":
        name, _, until = (part.strip() for part in typed.partition(";"))
        if not name:
            return Reply(say="The instrument's name is wanted before the semicolon. Nothing was taken.", view="measure")
        if _is_a_reading(name):
            return Reply(say=f"{name!r} looks like a reading; the instrument's name is wanted first.", view="measure")
        data = {"name": name, "calibrated": until, "unit": check.reading.unit}
        return Reply((NewEntry("instrument", data),), view="measure")
    if typed in ("i", "l"):
        return Reply(view="instrument" if typed == "i" else "limit")
    return _reading(book, state, check, check.reading, typed)


def _limit(reading: Reading, typed: str) -> Reply:
    value, _, reference = (part.strip() for part in typed.removeprefix("+").partition(";"))
    if not value or not reference:
        return Reply(say="Two parts are needed: the limit; where it stands. Nothing was taken.", view="measure")
    try:
        found = sensible(convert(parse_quantity(value, reading.unit), reading.unit))
    except BadAnswer as problem:
        return Reply(say=str(problem), view="measure")
    data = {"limit": reading.limit, "value": found.value, "unit": found.unit, "reference": reference}
    return Reply((NewEntry("limit", {**data, "keep": typed.startswith("+")}),), view="measure")


def _is_a_reading(words: str) -> bool:
    try:
        parse_quantity(words)
    except BadAnswer:
        return False
    return True


def sensible(quantity: Quantity) -> Quantity:
    """The same, unless it is below nothing where there is no below. Raises BadAnswer."""
    measures = SYMBOLS[quantity.unit].measures
    if quantity.value < 0 and measures not in SIGNED:
        raise BadAnswer(f"{quantity} is below nothing; a {measures} is 0 or more")
    return quantity


def _reading(book: Book, state: CaseState, check: Check, reading: Reading, typed: str) -> Reply:
    limit, instrument = state.limits[reading.limit], _instrument(state, reading)
    assert instrument is not None
    try:
        quantity = parse_quantity(typed, reading.unit)
        value = sensible(convert(quantity, reading.unit)).value
        answer = measured(book, check.id, value, limit.value)
    except BadAnswer as problem:
        return Reply(say=str(problem), view="measure")
    data = {
        "check": check.id, "value": value, "unit": reading.unit, "limit_id": reading.limit, "limit": limit.value,
        "reference": limit.reference, "instrument": instrument.name, "calibrated": instrument.calibrated,
        "weights": list(answer.weights), "typed": typed,
    }  # fmt: skip
    far = abs(value) > FAR_BEYOND * abs(limit.value) > 0
    doubt = (
        f" That is {abs(value / limit.value):.0f} times the limit: u takes it back if it was mistyped." if far else ""
    )
    return Reply((NewEntry("reading", data),), say=f"Taken: {quantity}.{doubt}")
