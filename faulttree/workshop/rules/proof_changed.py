"""Where an overlay names another proof, the new one stands for the one that it replaces.

A repair counts as proved when the proof of its symptom passes; a look in the place of a retraction test would prove
less, and no program can tell how much less. So a proof that does not say that it shows all that the old one does
(`covers`), or finds less of what is still wrong, is told, for the author to weigh.

Passes::

    checks:
      swing-twice:
        name: Swing the gear twice
        kind: test
        minutes: 30
        needs: [on-jacks, master-on]
        proof: true
        covers: [swing]
        outcomes: {bad: {label: Still there, when: the-squawk}, gone: {label: Gone, otherwise: true}}
        detects: 0.97
        false_alarm: 0.01
        basis: estimate
    symptoms:
      no-up: {amends: true, proof: swing-twice}

Fails::

    checks:
      watch-once:
        name: Watch it once
        kind: test
        minutes: 5
        needs: [on-jacks, master-on]
        proof: true
        outcomes: {bad: {label: Still there, when: the-squawk}, gone: {label: Gone, otherwise: true}}
        detects: 0.97
        false_alarm: 0.01
        basis: estimate
    symptoms:
      no-up: {amends: true, proof: watch-once}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.positions import ADVICE, Position, Problem
from faulttree.book.sections import noun
from faulttree.workshop.subject import Subject

ID = "proof-changed"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Holds the proof of the family, and of each symptom, against the one before each overlay that changed it."""
    written = subject.written
    stated = next((item.form.proof for item in written.family.values()), None)
    for section in ("family", "symptoms"):
        for name, item in written.ids(section).items():
            for amendment in written.entries[section][name].amendments:
                was, now = amendment.before.get("proof") or stated, item.form.proof or stated
                if "proof" in amendment.fields and was and now and was != now:
                    where = amendment.fields["proof"]
                    yield from _less(subject, f"{noun(section)} `{name}`", str(was), now, where)


def _less(subject: Subject, whose: str, was: str, now: str, where: Position) -> Iterator[Problem]:
    checks = subject.written.checks
    if was in checks and was not in _stood_for(subject, now):
        what = f"the proof of {whose} was `{was}` and is `{now}`, which does not say that it stands for it"
        right = f"if it shows all that `{was}` does, say so: `covers: [{was}]` on `{now}`; if not, keep `{was}`"
        yield Problem(where, what, right, ID)
    old, new = (checks[name].form.detects if name in checks else None for name in (was, now))
    if old is not None and new is not None and new < old:
        what = f"the proof of {whose} finds {new:g} of what is still wrong, and found {old:g}"
        yield Problem(where, what, f"keep `{was}`, or say in `basis` why that is enough", ID)


def _stood_for(subject: Subject, name: str) -> set[str]:
    """Checks that one stands for, those of which these do too."""
    found, open_ = set[str](), [name]
    while open_:
        item = subject.written.checks.get(open_.pop())
        new = set(item.form.covers) - found if item else set[str]()
        found |= new
        open_ += new
    return found
