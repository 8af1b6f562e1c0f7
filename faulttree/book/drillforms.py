"""The written forms of what is for practice: lessons, scenarios, temptations, what pilots say, subsystems."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import Between, Form, Frozen, Name, Names, NotNegative, Text, Texts, plain_error

Level = Annotated[int, Between(0, 3)]


Helps = Literal[
    "unsafe", "missed", "wasted", "misread", "asleep", "wrong_cause", "help", "unplanned", "slow", "hazards",
    "claimed_wrong", "out_of_order",
]  # fmt: skip


class DrillForm(Form):
    """The drill that a lesson ends in."""

    family: Name
    """The family of gear."""
    scenario: Name | None = None
    """A fixed scenario of that family; without one the drill is drawn."""
    symptom: Name | None = None
    """The squawk; any without."""
    level: Level = 1
    """1 single hard faults, 2 comes and goes or looks like a likelier one, 3 two faults or a wrong earlier repair."""
    seed: int = 1
    """The number that the drill is drawn by; the same everywhere."""

    @model_validator(mode="after")
    def _fixed_or_drawn(self) -> DrillForm:
        if self.scenario is not None and self.symptom is not None:
            raise plain_error("a fixed scenario has its own symptom", "leave `symptom` out")
        return self


class LessonForm(Form):
    """A short lesson, ending in a drill that shows it."""

    name: Text
    """What it is called."""
    rule: Text
    """The rule itself, in a sentence."""
    text: Annotated[Texts, Field(min_length=1)]
    """Why, and how on the floor: short paragraphs."""
    watch: Text
    """What to watch for in the drill."""
    helps: Annotated[tuple[Helps, ...], Frozen] = ()
    """What of a debrief it is good against."""
    drill: DrillForm
    """The drill that shows it."""


class ScenarioForm(Form):
    """A fixed drill: hidden faults, the pilot's words, quirks."""

    name: Text
    """What it is called in lists; it must not give the fault away."""
    note: Text
    """What it is for, for whoever keeps it; learners see it after the drill."""
    symptoms: Annotated[Names, Field(min_length=1)]
    """What the gear did; the hidden faults must bring all of it about."""
    words: Text
    """What the pilot says."""
    hard: Names = ()
    """Hidden faults that are always there."""
    sleeping: Names = ()
    """Hidden faults that come and go."""
    fitted: Names = ()
    """Options of the aircraft."""
    circumstances: Names = ()
    """What surrounds the squawk."""
    hours: NotNegative | None = None
    """Flight hours since the gear was last known good."""
    earlier: Name | None = None
    """A repair that somebody did since, and after which the squawk came again."""
    opinion: Name | None = None
    """The part that the pilot takes to be the cause."""
    opening: dict[Name, Name] = Field(default_factory=dict)
    """Answers to the opening questions, by question."""
    answers: dict[Name, Name] = Field(default_factory=dict)
    """Quirks: what a check shows, whatever chance says, as long as nothing was repaired."""
    level: Level = 3
    """The level that it counts as."""

    @model_validator(mode="after")
    def _hides_something(self) -> ScenarioForm:
        if not self.hard and not self.sleeping:
            raise plain_error("the scenario hides nothing", "name a fault under `hard` or `sleeping`")
        both = [name for name in self.hard if name in self.sleeping]
        if both:
            raise plain_error(f"`{both[0]}` is both hard and sleeping", "keep one of the two")
        return self


class TemptationForm(Form):
    """What nobody should do, listed among the steps of a drill."""

    name: Text
    """Its words in the list."""
    kind: Literal["check", "repair"]
    """The list that it stands in."""
    could: Text
    """What could have happened."""
    cautions: Annotated[Names, Field(min_length=1)]
    """The cautions that speak against it."""
    symptoms: Names = ()
    """Squawks that it belongs to; any without."""


class PilotForm(Form):
    """What a pilot with this squawk answers to the opening questions."""

    opening: Annotated[dict[Name, Name], Field(min_length=1)]
    """The answer, by question."""


class HeardForm(Form):
    """What words of a pilot assert: a drill lets a pilot say them only where the pilot would answer so when asked."""

    words: Annotated[Texts, Field(min_length=1)]
    """Words that assert it; a saying that holds any of them, one word after the other, does."""
    answers: dict[Name, Names] = Field(default_factory=dict)
    """By question to the pilot: the answers that go with it."""
    opening: dict[Name, Names] = Field(default_factory=dict)
    """By opening question: the answers that go with it."""
    symptoms: Names = ()
    """Squawks in whose sayings the words mean that; any without."""
    never: bool = False
    """The words speak of another kind of gear: no pilot of this one says them."""

    @model_validator(mode="after")
    def _asserts_something(self) -> HeardForm:
        if not (self.answers or self.opening or self.never):
            raise plain_error("the words assert nothing", "name a question with its answers under `answers`")
        return self


class HarmlessForm(Form):
    """A condition that keeps nobody from harm, or whose setting up brings none: done out of order it is not unsafe."""

    to_lack: bool = False
    """A step done without it hurts nobody: it gives access, power, cold or a reading."""
    to_do: bool = False
    """Setting it up hurts nobody, whatever stands: it takes power away."""
    why: Text
    """Why that is so."""

    @model_validator(mode="after")
    def _harmless_somehow(self) -> HarmlessForm:
        if not (self.to_lack or self.to_do):
            raise plain_error("it is harmless in no way", "write `to_lack: true` or `to_do: true`")
        return self


class QuizzedForm(Form):
    """A caution that is to be named before a step only where it can apply; where it hangs on a step it is shown all
    the same."""

    opening: dict[Name, Names] = Field(default_factory=dict)
    """By opening question: the answers with which it applies."""
    never: bool = False
    """It speaks of another kind of gear."""
    why: Text
    """Why that is so."""

    @model_validator(mode="after")
    def _says_when(self) -> QuizzedForm:
        if bool(self.opening) == self.never:
            raise plain_error("it is not said when it applies", "write either `opening` or `never: true`")
        return self


class SubsystemForm(Form):
    """A part of the gear under which progress is counted, by the ATA sub-chapter of its components."""

    name: Text
    """What it is called."""


DRILL_FORMS: dict[str, type[Form]] = {
    "lessons": LessonForm, "scenarios": ScenarioForm, "temptations": TemptationForm, "pilots": PilotForm,
    "heard": HeardForm, "harmless": HarmlessForm, "quizzed": QuizzedForm, "subsystems": SubsystemForm,
}  # fmt: skip
"""The form of one entry, by section."""
