"""Errors that the user is told of in one sentence. Imports nothing of ours, so no ring can start here."""

from __future__ import annotations


class FaulttreeError(Exception):
    """Anything wrong that the user can put right; the message says what, where and what would be right."""


class UnknownName(FaulttreeError):
    """An id that the book does not have was given."""


class BadCondition(FaulttreeError):
    """A set of conditions that cannot stand together was asked for."""


class BadAnswer(FaulttreeError):
    """An answer that does not fit its check: wrong outcome, wrong unit, no limit to judge by."""


class BadCase(FaulttreeError):
    """A case log that cannot be read or continued."""
