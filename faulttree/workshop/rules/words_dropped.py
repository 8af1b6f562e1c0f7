"""Where an overlay puts other words in the place of those that tell how work is done, what is gone is looked at again.

A sentence such as "pins in before anybody reaches in" keeps people safe though it is no caution, and no program can
tell it from one that may go. So what the book said and the overlay does not is told, for the author to weigh. So are
words of pilots: a squawk in the words that are gone is not understood any more.

Passes::

    conditions:
      master-on: {amends: true, set_up: {words: "Read placard 4. Master on.", minutes: 1}}

Fails::

    conditions:
      master-on: {amends: true, set_up: {words: Push the button, minutes: 1}}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.positions import ADVICE, Problem
from faulttree.book.sections import noun
from faulttree.book.sentences import gone, listed
from faulttree.workshop.subject import Subject

ID = "words-dropped"
SEVERITY = ADVICE

FIELDS = ("name", "how", "set_up", "restore", "ask", "healthy", "says")


def check(subject: Subject) -> Iterator[Problem]:
    """Holds the words of every entry that overlays amended against what they were before."""
    for section in ("checks", "actions", "conditions", "symptoms", "sayings"):
        for name in subject.written.ids(section):
            for amendment, after in subject.written.entries[section][name].changes():
                # A question to the pilot touches nothing.
                asked = amendment.before.get("kind") == "ask"
                for field in (f for f in FIELDS if f in amendment.fields and not (asked and f == "ask")):
                    lost = gone(amendment.before.get(field), after.get(field))
                    if lost and field == "says":
                        what = f"{noun(section)} `{name}` is no longer told by: {listed(lost)}"
                        yield Problem(amendment.fields[field], what, "to add your own, write `adds: {says: […]}`", ID)
                    elif lost:
                        what = f"`{field}` of {noun(section)} `{name}` no longer says: {listed(lost)}"
                        right = "say it again if any of it keeps people safe or the reading right"
                        yield Problem(amendment.fields[field], what, right, ID)
