"""Case files to regression cases: their written form, and whether what they name exists."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from faulttree.book.caseforms import LIMIT, READING, CaseForm, StepForm
from faulttree.book.cases import Expect, Measured, RegressionCase, Step
from faulttree.book.expand import Draft
from faulttree.book.files import SourceFile, in_common
from faulttree.book.fitted import choose
from faulttree.book.merge import Entry, merge
from faulttree.book.names import retired_as
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Position, Problem, in_reading_order
from faulttree.book.reader import Loaded, load, outline
from faulttree.book.saying import problems_of
from faulttree.book.sections import CASES
from faulttree.book.sections import noun as entry_noun
from faulttree.book.yamlbuild import Path
from faulttree.book.yamltext import read_yaml

HELP = "help"


def read(files: Sequence[SourceFile], family: str) -> tuple[tuple[RegressionCase, ...], tuple[Problem, ...]]:
    """The sound cases in reading order, and what is wrong with the others."""
    case_files = [file for file in files if file.holds_cases]
    if not case_files:
        return (), ()
    merged = merge(((file, read_yaml(file.content, file.name)) for file in case_files), (CASES,))
    loaded = load(files, family)
    drafts: dict[tuple[str, ...], Draft] = {}
    problems, cases = list(merged.problems), []
    for entry in merged.entries[CASES].values():
        form, found = _form(entry, family)
        if form is not None and (form.family or family) == family:
            found += _names(loaded, drafts, form, entry)
            if not found:
                cases.append(_case(entry, form, family))
        problems += found
    return tuple(cases), in_reading_order(problems)


def _form(entry: Entry, family: str) -> tuple[CaseForm | None, list[Problem]]:
    if not isinstance(entry.data, dict):
        return None, [Problem(entry.spots.key(), f"case `{entry.id}` has no fields", "write them below it", "value")]
    try:
        form = CaseForm.model_validate(entry.data)
    except ValidationError as error:
        return None, problems_of(error, CaseForm, entry.spots.key, entry.spots.value)
    if in_common(entry.home) and form.family is None:
        what = "a case in a folder of several families does not say its family"
        return None, [Problem(entry.spots.key(), what, "add `family: …`", "missing-field")]
    if not in_common(entry.home) and form.family not in (None, family):
        what = f"the case is about `{form.family}` and lies in the folder of `{family}`"
        return None, [Problem(entry.spots.value("family"), what, "leave the family out, or move the case", "family")]
    return form, []


def _names(loaded: Loaded, drafts: dict[tuple[str, ...], Draft], form: CaseForm, entry: Entry) -> list[Problem]:
    """What the case names and the book does not have."""
    fitted = tuple(form.fitted)
    _, unknown = choose(loaded.written, fitted)
    if unknown:
        return [Problem(entry.spots.key("fitted"), p.what, p.right, p.rule) for p in unknown]
    if fitted not in drafts:
        drafts[fitted] = outline(loaded, fitted)
    return list(_Names(drafts[fitted], entry).check(form))


class _Names:
    """Holds one case against the book."""

    def __init__(self, draft: Draft, entry: Entry) -> None:
        self._draft = draft
        self._book = draft.book
        self._spots = entry.spots
        self._name = entry.id
        self._told: set[str] = set()

    def check(self, form: CaseForm) -> Iterator[Problem]:
        book = self._book
        for field, known, noun in (
            ("symptoms", book.symptoms, "symptom"),
            ("absent", book.symptoms, "symptom"),
            ("circumstances", book.circumstances, "circumstance"),
            ("standing", book.conditions, "condition"),
        ):
            yield from self._all(getattr(form, field), known, noun, (field,))
        for index, step in enumerate(form.steps):
            yield from self._step(step, ("steps", index))
        expect, steps = form.expect, [*book.checks, *book.actions, HELP]
        if expect.cause is not None:
            causes = [*book.faults, *book.components]
            yield from self._one(expect.cause, causes, "fault or component", ("expect", "cause"))
        yield from self._all(expect.order, book.components, "component", ("expect", "order"))
        yield from self._all(expect.next, steps, "check or action", ("expect", "next"))
        yield from self._all(expect.hands_on, steps, "check or action", ("expect", "hands_on"))
        yield from self._all(expect.not_offered, steps, "check or action", ("expect", "not_offered"))
        yield from self._all(expect.cautions, book.cautions, "caution", ("expect", "cautions"))

    def _all(self, names: Sequence[str], known: Collection[str], noun: str, path: Path) -> Iterator[Problem]:
        for index, name in enumerate(names):
            yield from self._one(name, known, noun, (*path, index))

    def _one(self, name: str, known: Collection[str], noun: str, path: Path) -> Iterator[Problem]:
        if name not in known and not self._draft.names.may_exist(name):
            where = self._spots.value(*path)
            gone = retired_as(self._draft.written, name)
            if gone is not None:
                if gone.id not in self._told:
                    yield self._retired(noun, name, gone, where)
                self._told.add(gone.id)
                return
            right = did_you_mean(name, known, f"known: {listed(known)}")
            yield Problem(where, f"there is no {noun} `{name}` with these options", right, "unknown-id")

    def _retired(self, noun: str, name: str, gone: Entry, where: Position) -> Problem:
        what = f"{noun} `{name}`" + ("" if gone.id == name else f" of {entry_noun(gone.section)} `{gone.id}`")
        what = f"case `{self._name}` names {what}, which was retired at {gone.retired_at}"
        right = f"in a .cases.yaml, under `cases:`, `{self._name}: {{retires: true, reason: …}}`, or amend it"
        return Problem(where, what, right, "retired-named")

    def _step(self, step: StepForm, path: Path) -> Iterator[Problem]:
        checks: Mapping[str, Any] = self._book.checks
        for kind in ("answer", "unsure"):
            said = getattr(step, kind)
            if said is not None:
                name, outcome = _answer(said)
                yield from self._one(name, checks, "check", (*path, kind))
                if name in checks:
                    outcomes = [o.id for o in checks[name].outcomes]
                    yield from self._one(outcome, outcomes, f"outcome of `{name}`", (*path, kind))
        if step.found is not None:
            yield from self._one(step.found, self._book.faults, "fault", (*path, "found"))
        if step.did is not None:
            yield from self._one(step.did, self._book.actions, "action", (*path, "did"))
        if step.reading is not None:
            yield from self._reading(step, path)

    def _reading(self, step: StepForm, path: Path) -> Iterator[Problem]:
        name, _ = _measured(READING, step.reading or "")
        yield from self._one(name, self._book.checks, "check", (*path, "reading"))
        check = self._book.checks.get(name)
        if check is None:
            return
        if check.reading is None:
            where = self._spots.value(*path, "reading")
            yield Problem(where, f"check `{name}` takes no reading", "write `answer: check=outcome`", "value")
        elif step.limit is not None:
            limit, _ = _measured(LIMIT, step.limit)
            yield from self._one(limit, [check.reading.limit], f"limit of `{name}`", (*path, "limit"))


def _answer(said: str) -> tuple[str, str]:
    name, _, outcome = said.partition("=")
    return name.strip(), outcome.strip()


def _measured(pattern: re.Pattern[str], said: str) -> tuple[str, Measured]:
    found = pattern.fullmatch(said)
    if found is None:
        raise AssertionError(f"{said!r} passed validation and does not match {pattern.pattern}")
    parts = found.groupdict()
    return parts["name"], Measured(float(parts["value"]), parts["unit"], parts.get("reference"))


def _step(form: StepForm) -> Step:
    if form.answer is not None:
        return Step("answer", *_answer(form.answer))
    if form.unsure is not None:
        return Step("unsure", *_answer(form.unsure))
    if form.found is not None:
        return Step("found", form.found)
    if form.did is not None:
        return Step("did", form.did)
    name, measured = _measured(READING, form.reading or "")
    if form.limit is None:
        return Step("reading", name, measured=measured)
    limit, limit_is = _measured(LIMIT, form.limit)
    return Step("reading", name, measured=measured, limit=limit, limit_is=limit_is)


def _case(entry: Entry, form: CaseForm, family: str) -> RegressionCase:
    said = form.expect
    expect = Expect(
        said.cause,
        said.within or 1,
        tuple(said.order),
        tuple(said.next),
        tuple(said.hands_on),
        tuple(said.kinds),
        tuple(said.cautions),
        tuple(said.not_offered),
        said.unlisted_at_least,
        said.contradiction,
        said.conflict_at_least,
    )
    return RegressionCase(
        entry.id,
        entry.spots.key(),
        form.description,
        form.origin,
        family,
        tuple(form.fitted),
        tuple(form.symptoms),
        tuple(form.absent),
        form.squawk,
        tuple(form.circumstances),
        form.hours,
        tuple(_step(step) for step in form.steps),
        tuple(form.standing),
        expect,
        form.from_case or "",
    )
