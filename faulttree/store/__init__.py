"""Cases, books and aircraft in a database: one SQLite file of the user's, or PostgreSQL for several laptops of a shop.

``schema`` the tables, ``database`` connections and their errors in words, ``cards`` what lists show of a case,
``cases`` the logs, ``checking`` whether they are as they were written, ``bringing`` cases from elsewhere, ``books`` the
knowledge that cases were worked with, ``aircraft`` profiles, ``drills`` what learners practised. Nothing here deletes.
"""

from faulttree.store.aircraft import Profiles
from faulttree.store.books import Books
from faulttree.store.bringing import Brought, bring_in
from faulttree.store.cards import Card, Wanted
from faulttree.store.cases import Cases, Overtaken
from faulttree.store.checking import Verdict, verify_cases
from faulttree.store.database import Database, NotSaved, NotThere, StoreError
from faulttree.store.drills import Drills, KeptDrill

__all__ = [
    "Books",
    "Brought",
    "Card",
    "Cases",
    "Database",
    "Drills",
    "KeptDrill",
    "NotSaved",
    "NotThere",
    "Overtaken",
    "Profiles",
    "StoreError",
    "Verdict",
    "Wanted",
    "bring_in",
    "verify_cases",
]
