"""Practice files to lessons, scenarios and what goes with them: their form, and whether what they name exists."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TypeVar

from pydantic import ValidationError

from faulttree.book.drillforms import (
    DRILL_FORMS,
    HarmlessForm,
    HeardForm,
    LessonForm,
    PilotForm,
    QuizzedForm,
    ScenarioForm,
    SubsystemForm,
    TemptationForm,
)
from faulttree.book.drills import DrillAsked, Heard, Lesson, Practice, PracticeReading, Quizzed, Scenario, Temptation
from faulttree.book.expand import Draft
from faulttree.book.files import SourceFile, in_common
from faulttree.book.fitted import choose
from faulttree.book.forms import Form
from faulttree.book.merge import Entry, Merged, merge
from faulttree.book.model import Check
from faulttree.book.names import retired_as
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Position, Problem, in_reading_order
from faulttree.book.reader import Loaded, load, outline
from faulttree.book.rules.ids_kebab_case import of_entry
from faulttree.book.saying import problems_of
from faulttree.book.yamlbuild import Path
from faulttree.book.yamltext import read_yaml

SECTIONS = tuple(DRILL_FORMS)

AForm = TypeVar("AForm", bound=Form)


def read(files: Sequence[SourceFile], family: str) -> PracticeReading:
    """What is sound, in reading order, and what is wrong with the rest."""
    mine = [file for file in files if file.holds_drills]
    if not mine:
        return PracticeReading(Practice())
    merged = merge(((file, read_yaml(file.content, file.name)) for file in mine), SECTIONS)
    return _Reader(merged, load(files, family), family).read()


class _Reader:
    """Reads the sections of one family."""

    def __init__(self, merged: Merged, loaded: Loaded, family: str) -> None:
        self._merged, self._loaded, self._family = merged, loaded, family
        self._problems = list(merged.problems)
        self._drafts: dict[tuple[str, ...], Draft] = {}

    def read(self) -> PracticeReading:
        """Everything; what is not sound is left out, and told."""
        scenarios = self._scenarios()
        lessons = dict(self._lessons(self._merged.entries["scenarios"]))
        harmless = dict(self._harmless())
        practice = Practice(
            lessons=lessons,
            scenarios=scenarios,
            temptations=dict(self._temptations()),
            answers={entry.id: dict(form.opening) for entry, form in self._pilots()},
            harmless_to_lack=frozenset(name for name, form in harmless.items() if form.to_lack),
            harmless_to_do=frozenset(name for name, form in harmless.items() if form.to_do),
            quizzed=dict(self._quizzed()),
            heard={heard.id: heard for heard in self._heard()},
            subsystems={entry.id: form.name for entry, form in self._all("subsystems", SubsystemForm)},
        )
        return PracticeReading(practice, in_reading_order(self._problems))

    def _all(self, section: str, form: type[AForm]) -> Iterator[tuple[Entry, AForm]]:
        """Entries of sound form."""
        return ((entry, read) for entry, read, sound in self._every(section, form) if sound)

    def _every(self, section: str, form: type[AForm]) -> Iterator[tuple[Entry, AForm, bool]]:
        """All entries; of one whose form is not sound what is left of it, so that all its mistakes are told at once."""
        for entry in self._merged.entries[section].values():
            wrong = list(of_entry(entry))
            self._problems += wrong
            if not isinstance(entry.data, dict):
                what = f"`{entry.id}` has no fields"
                self._problems.append(Problem(entry.spots.key(), what, "write them below it", "value"))
                continue
            try:
                yield entry, form.model_validate(entry.data), not wrong
            except ValidationError as error:
                self._problems += problems_of(error, form, entry.spots.key, entry.spots.value)
                bad = {detail["loc"][0] for detail in error.errors(include_url=False) if detail["loc"]}
                left = {name: value for name, value in entry.data.items() if name not in bad}
                yield entry, form.model_construct(**left), False

    def _in_place(self, entry: Entry) -> bool:
        if not in_common(entry.home):
            return True
        what = "a scenario in a folder of several families belongs to none of them"
        self._problems.append(Problem(entry.spots.key(), what, "move it to the folder of its family", "family"))
        return False

    def _draft(self, fitted: tuple[str, ...]) -> Draft:
        if fitted not in self._drafts:
            self._drafts[fitted] = outline(self._loaded, fitted)
        return self._drafts[fitted]

    def _lessons(self, scenarios: Collection[str]) -> Iterator[tuple[str, Lesson]]:
        symptoms = self._draft(()).book.symptoms
        for entry, form in self._all("lessons", LessonForm):
            asked = form.drill
            if asked.family == self._family:
                if asked.scenario is not None:
                    self._known(entry, asked.scenario, scenarios, "scenario", ("drill", "scenario"))
                if asked.symptom is not None:
                    self._known(entry, asked.symptom, symptoms, "symptom", ("drill", "symptom"))
            drill = DrillAsked(asked.family, asked.level, asked.seed, asked.symptom, asked.scenario)
            yield entry.id, Lesson(entry.id, form.name, form.rule, form.text, form.watch, drill, tuple(form.helps))

    def _scenarios(self) -> dict[str, Scenario]:
        sound = {}
        for entry, form, well in self._every("scenarios", ScenarioForm):
            before = len(self._problems)
            if self._in_place(entry):
                self._names(entry, form)
            if well and len(self._problems) == before:
                sound[entry.id] = _scenario(entry, form, self._family)
        return sound

    def _names(self, entry: Entry, form: ScenarioForm) -> None:
        _, unknown = choose(self._loaded.written, form.fitted)
        if unknown:
            self._problems += [Problem(entry.spots.key("fitted"), p.what, p.right, p.rule) for p in unknown]
            return
        book = self._draft(tuple(form.fitted)).book
        for field, known, noun in (
            ("symptoms", book.symptoms, "symptom"), ("hard", book.faults, "fault"), ("sleeping", book.faults, "fault"),
            ("circumstances", book.circumstances, "circumstance"),
        ):  # fmt: skip
            for place, name in enumerate(getattr(form, field, ())):  # a form that is not sound may lack it
                self._known(entry, name, known, noun, (field, place))
        if form.earlier is not None:
            self._known(entry, form.earlier, book.actions, "action", ("earlier",))
        if form.opinion is not None:
            self._known(entry, form.opinion, book.components, "component", ("opinion",))
        self._opening(entry, form.opening)
        for check, outcome in form.answers.items():
            if self._known(entry, check, book.checks, "check", ("answers", check)):
                outcomes = [o.id for o in book.checks[check].outcomes]
                self._known(entry, outcome, outcomes, f"outcome of `{check}`", ("answers", check))

    def _opening(self, entry: Entry, given: Mapping[str, str]) -> bool:
        asked = {q.id: [a.id for a in q.answers] for q in self._draft(()).book.opening}
        sound = True
        for question, answer in given.items():
            path: Path = ("opening", question)
            sound &= self._known(entry, question, asked, "opening question", path) and self._known(
                entry, answer, asked.get(question, ()), f"answer to `{question}`", path
            )
        return sound

    def _temptations(self) -> Iterator[tuple[str, Temptation]]:
        book = self._draft(()).book
        for entry, form in self._all("temptations", TemptationForm):
            sound = [
                self._known(entry, name, book.cautions, "caution", ("cautions", i))
                for i, name in enumerate(form.cautions)
            ]
            if all(sound):
                cautions, symptoms = tuple(form.cautions), tuple(form.symptoms)
                yield entry.id, Temptation(entry.id, form.name, form.kind, form.could, cautions, symptoms)

    def _pilots(self) -> Iterator[tuple[Entry, PilotForm]]:
        symptoms = self._draft(()).book.symptoms
        for entry, form in self._all("pilots", PilotForm):
            if self._known(entry, entry.id, symptoms, "symptom", ()) and self._opening(entry, form.opening):
                yield entry, form

    def _harmless(self) -> Iterator[tuple[str, HarmlessForm]]:
        conditions = self._draft(()).book.conditions
        for entry, form in self._all("harmless", HarmlessForm):
            if self._known(entry, entry.id, conditions, "condition", ()):
                yield entry.id, form

    def _quizzed(self) -> Iterator[tuple[str, Quizzed]]:
        book = self._draft(()).book
        asked = {q.id: [a.id for a in q.answers] for q in book.opening}
        for entry, form in self._all("quizzed", QuizzedForm):
            before = len(self._problems)
            self._known(entry, entry.id, book.cautions, "caution", ())
            self._answers(entry, "opening", asked, form.opening, "opening question")
            if len(self._problems) == before:
                yield entry.id, Quizzed({name: tuple(those) for name, those in form.opening.items()}, form.never)

    def _answers(
        self, entry: Entry, field: str, known: Mapping[str, list[str]], given: Mapping[str, Sequence[str]], noun: str
    ) -> None:
        for name, those in given.items():
            if self._known(entry, name, known, noun, (field, name)):
                for place, answer in enumerate(those):
                    self._known(entry, answer, known[name], f"answer to `{name}`", (field, name, place))

    def _heard(self) -> Iterator[Heard]:
        book = self._draft(()).book
        asked = {c.id: [o.id for o in c.outcomes] for c in book.checks.values() if _of_pilot(c)}
        first = {q.id: [a.id for a in q.answers] for q in book.opening}
        for entry, form in self._all("heard", HeardForm):
            before = len(self._problems)
            for place, name in enumerate(form.symptoms):
                self._known(entry, name, book.symptoms, "symptom", ("symptoms", place))
            self._answers(entry, "answers", asked, form.answers, "question about the squawk")
            self._answers(entry, "opening", first, form.opening, "opening question")
            if len(self._problems) == before:
                answers = {name: tuple(those) for name, those in form.answers.items()}
                opening = {name: tuple(those) for name, those in form.opening.items()}
                words, symptoms = tuple(form.words), tuple(form.symptoms)
                yield Heard(entry.id, entry.spots.key(), words, answers, opening, symptoms, form.never)

    def _known(self, entry: Entry, name: str, known: Collection[str], noun: str, path: Path) -> bool:
        if name in known:
            return True
        where: Position = entry.spots.value(*path) if path else entry.spots.key()
        rule, gone = "unknown-id", retired_as(self._draft(()).written, name)
        if gone is not None:
            rule, what = "retired-named", f"{noun} `{name}` was retired at {gone.retired_at}, and `{entry.id}` names it"
            right = (
                f"in a .drills.yaml, under `{entry.section}:`, `{entry.id}: {{retires: true, reason: …}}`, or amend it"
            )
        else:
            what, right = f"there is no {noun} `{name}` here", did_you_mean(name, known, f"known: {listed(known)}")
        self._problems.append(Problem(where, what, right, rule))
        return False


def _of_pilot(check: Check) -> bool:
    return check.kind == "ask" and check.about == "squawk" and not check.proof


def _scenario(entry: Entry, form: ScenarioForm, family: str) -> Scenario:
    return Scenario(
        entry.id, form.name, entry.spots.key(), family, tuple(form.symptoms), form.words, tuple(form.hard),
        tuple(form.sleeping), tuple(form.fitted), tuple(form.circumstances), form.hours, form.earlier, form.opinion,
        dict(form.opening), dict(form.answers), form.level, form.note,
    )  # fmt: skip
