"""Chances in words, for readers who have never heard of probability."""

from __future__ import annotations

AS_GOOD_AS_CERTAIN, HARDLY = 0.985, 0.004
UNDER_A_MINUTE = "under a minute"
ONE_IN = (10, 12, 15, 20, 30, 40, 50, 70, 100, 150, 200, 250)


def in_words(probability: float) -> str:
    """About so many in ten, or one in so many where that is less than one in ten."""
    if probability >= AS_GOOD_AS_CERTAIN:
        return "as good as certain"
    if probability >= 0.945:
        return "about 19 in 20"
    if probability >= 0.125:
        return f"about {max(round(probability * 10), 1)} in 10"
    if probability < HARDLY:
        return "hardly"
    return f"about 1 in {min(ONE_IN, key=lambda many: abs(many - 1.0 / probability))}"


def minutes_in_words(minutes: float) -> str:
    """Minutes as somebody says them: under a minute, 40 min, 2 h 20, to the next ten from two hours on."""
    if minutes < 1:
        return UNDER_A_MINUTE
    whole = round(minutes) if minutes < 60 else round(minutes / 5) * 5 if minutes < 120 else round(minutes / 10) * 10
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def about(minutes: float) -> str:
    """Minutes that are a guess, as somebody says them."""
    return UNDER_A_MINUTE if minutes < 1 else f"about {minutes_in_words(minutes)}"
