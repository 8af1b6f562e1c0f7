"""The written form of every entry, as pydantic models: strict, and nothing unknown let in.

One model per section (see :data:`FORMS`). Names of other entries are words here; whether they exist, and
what legs and options make of them, is seen to by the reader.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import (
    BasisIn,
    Between,
    EachLeg,
    Factor,
    FactorPair,
    Form,
    Gate,
    Name,
    Names,
    NotNegative,
    People,
    Positive,
    Probability,
    Ref,
    Text,
    Texts,
    plain_error,
)

Share = Annotated[float, Between(0, 1, open_low=True)]
Fresh = Annotated[float, Between(0, 1, open_low=True, open_high=True)]
FalseAlarm = Annotated[float, Between(0, 1, open_high=True)]


class BookForm(Form):
    """The book as a whole; once, in the shared folder."""

    version: Text
    standing_cautions: Names = ()


class FamilyForm(Form):
    """The family; once, in its folder."""

    id: Name
    name: Text
    proof: Name


class DefaultForm(Form):
    """A figure that holds unless an entry or the shop says otherwise."""

    value: NotNegative
    basis: BasisIn


class SourceForm(Form):
    """A publication."""

    title: Text
    publisher: Text
    edition: Text
    seen: Literal["read", "in-part", "summary", "memory"]


class OptionGroupForm(Form):
    """A group of options, of which an aircraft has one."""

    name: Text
    choices: Annotated[dict[str, Text], Field(min_length=2)]
    default: Name

    @model_validator(mode="after")
    def _default_is_a_choice(self) -> OptionGroupForm:
        if self.default not in self.choices:
            what = f"the default `{self.default}` is not a choice"
            raise plain_error(what, f"write one of {', '.join(self.choices)}")
        return self


class CautionForm(Form):
    """A sentence to be shown before a step."""

    level: Literal["WARNING", "CAUTION", "NOTE"]
    text: Text


class CircumstanceForm(Form):
    """What surrounds the squawk, with its factors on rates."""

    name: Text
    ask: Text
    promotes: FactorPair | None = None
    demotes: FactorPair | None = None
    intermittent_faults: FactorPair | None = None
    steady_faults: Factor | None = None
    basis: BasisIn | None = None


class WorkForm(Form):
    """What is done to set a condition up, or to put it back."""

    words: Text
    minutes: NotNegative


class ConditionForm(Form):
    """A state of the aircraft."""

    name: Text
    set_up: WorkForm
    restore: WorkForm
    implies: Names = ()
    excludes: Names = ()
    not_while: Names = ()
    hazard: bool = False
    proposed: bool = True
    waits: NotNegative = 0.0
    people: People = 1
    equipment: Names = ()
    cautions: Names = ()
    fitted: Names = ()
    basis: BasisIn | None = None


class LimitForm(Form):
    """A named limit; where to find it."""

    name: Text
    unit: Text
    where: Text
    typical: float | None = None
    basis: BasisIn | None = None


class OpeningAnswerForm(Form):
    """What an answer brings."""

    label: Text
    says: Text | None = None
    cautions: Names = ()
    first: Names = ()


class OpeningForm(Form):
    """A question asked before anything is touched."""

    ask: Text
    answers: Annotated[dict[str, OpeningAnswerForm], Field(min_length=2)]


class ComponentForm(Form):
    """A part of the gear."""

    name: Text
    also_called: Texts = ()
    ata: Text | None = None
    legs: Annotated[dict[Literal["left", "right", "nose"], Share], Field(min_length=2)] | None = None
    cautions: Names = ()
    fitted: Names = ()
    basis: BasisIn | None = None

    @model_validator(mode="after")
    def _shares_add_up(self) -> ComponentForm:
        if self.legs is not None and abs(sum(self.legs.values()) - 1) > 0.001:
            what = f"the shares of the legs add up to {sum(self.legs.values()):g}"
            raise plain_error(what, "let them add up to 1", "leg-shares")
        return self


class IntermittentForm(Form):
    """A fault's share that comes and goes, and how often such a one shows."""

    share: Probability
    shows: Share


class FaultForm(Form):
    """One failure mode of one component."""

    name: Text
    rate: Positive | None = None
    probability: Annotated[float, Between(0, 1, open_low=True, open_high=True)] | None = None
    basis: BasisIn | None = None
    intermittent: IntermittentForm | None = None
    promoted_by: Names = ()
    demoted_by: Names = ()
    corrected_by: Names = ()
    fitted: Names = ()

    @model_validator(mode="after")
    def _rate_or_probability(self) -> FaultForm:
        if (self.rate is None) == (self.probability is None):
            what = "a fault has either a rate or a plain probability"
            raise plain_error(what, "write `rate: …` (per 1000 flight hours) or `probability: …`", "rate")
        return self


class EventForm(Gate):
    """A gate with a name."""

    name: Text
    each_leg: EachLeg = False
    fitted: Names = ()


class ElementForm(Form):
    """One place along a chain."""

    faults: list[Ref] = Field(default_factory=list)
    tap: Text | None = None
    name: Text | None = None


class ChainForm(Form):
    """An ordered series of elements."""

    name: Text
    starts_at: Name | None = None
    elements: Annotated[list[ElementForm], Field(min_length=1)]
    each_leg: EachLeg = False
    fitted: Names = ()


class SymptomForm(Form):
    """A top event with the words pilots use."""

    name: Text
    says: Texts
    when: Ref
    unlisted: FalseAlarm | None = None
    noticed: Probability | None = None
    proof: Name | None = None
    pilot_advice: Texts = ()
    cautions: Names = ()
    fitted: Names = ()
    basis: BasisIn | None = None


class SayingsForm(Form):
    """More words of pilots for the symptom of the same id, in whichever family has it."""

    says: Texts


class OutcomeForm(Form):
    """One result of a check."""

    label: Text
    when: Ref | None = None
    otherwise: Literal[True] | None = None
    detects: Probability | None = None
    bars: Names = ()
    until: Names = ()


class ReadingForm(Form):
    """What is measured, and the limit that turns it into an outcome."""

    quantity: Text
    unit: Text
    error: Positive
    limit: Name
    below: Name
    above: Name


class CheckForm(Form):
    """A question, a look or a test."""

    name: Text
    kind: Literal["ask", "look", "test"]
    ask: Text | None = None
    how: Texts = ()
    healthy: Text | None = None
    about: Literal["squawk", "now"] | None = None
    needs: Names = ()
    after: Names = ()
    minutes: NotNegative
    waits: NotNegative = 0.0
    people: People = 1
    equipment: Names = ()
    cautions: Names = ()
    outcomes: Annotated[dict[str, OutcomeForm], Field(min_length=2)]
    detects: Probability | None = None
    false_alarm: FalseAlarm | None = None
    matrix: dict[str, list[Probability]] | None = None
    wakes: Probability = 0.0
    fresh: Fresh | None = None
    reading: ReadingForm | None = None
    proof: bool = False
    proposed: bool = True
    each_leg: EachLeg = False
    fitted: Names = ()
    basis: BasisIn | None = None

    @model_validator(mode="after")
    def _question_has_words(self) -> CheckForm:
        if self.kind == "ask" and self.ask is None:
            raise plain_error("the question has no text", "add `ask: …`", "missing-field")
        return self


class ActionForm(Form):
    """A corrective action."""

    name: Text
    how: Texts = ()
    needs: Names = ()
    minutes: NotNegative
    waits: NotNegative = 0.0
    people: People = 1
    equipment: Names = ()
    parts: Texts = ()
    who: Text | None = None
    effective: Share | None = None
    cautions: Names = ()
    follow_up: Names = ()
    after_any: Names = ()
    once: bool = False
    each_leg: EachLeg = False
    fitted: Names = ()
    basis: BasisIn | None = None


FORMS: dict[str, type[Form]] = {
    "book": BookForm,
    "family": FamilyForm,
    "defaults": DefaultForm,
    "sources": SourceForm,
    "options": OptionGroupForm,
    "cautions": CautionForm,
    "circumstances": CircumstanceForm,
    "conditions": ConditionForm,
    "limits": LimitForm,
    "opening": OpeningForm,
    "components": ComponentForm,
    "faults": FaultForm,
    "events": EventForm,
    "chains": ChainForm,
    "symptoms": SymptomForm,
    "sayings": SayingsForm,
    "checks": CheckForm,
    "actions": ActionForm,
}
"""The form of one entry, by section. ``equipment`` is not among them: its entries are plain words."""
