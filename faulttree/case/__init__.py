"""A case: an append-only list of entries, and what they add up to. Pure: no clock, no files.

``entries`` the log and what of it stands, ``chain`` the digests that tie it together, ``state`` what it adds up to,
``taking`` what each kind of entry does to that, ``shape`` what an entry has to hold, ``course`` the log in plain words,
``spent`` the time it took, ``closing`` what keeps a case open, ``change`` going on with a book that has changed.
"""

from faulttree.case.chain import Broken, chained, digest_of, holds, verify
from faulttree.case.change import Change, changes
from faulttree.case.closing import keeps_open
from faulttree.case.entries import CaseEntry, last_undoable, opening_of, standing_entries
from faulttree.case.shape import misfit
from faulttree.case.spent import minutes_spent
from faulttree.case.state import CaseState, Instrument, KnownLimit, Step
from faulttree.case.taking import add_up

__all__ = [
    "Broken",
    "CaseEntry",
    "CaseState",
    "Change",
    "Instrument",
    "KnownLimit",
    "Step",
    "add_up",
    "chained",
    "changes",
    "digest_of",
    "holds",
    "keeps_open",
    "last_undoable",
    "minutes_spent",
    "misfit",
    "opening_of",
    "standing_entries",
    "verify",
]
