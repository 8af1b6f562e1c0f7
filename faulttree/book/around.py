"""The written form of what surrounds the gear: book, family, options, cautions, conditions, limits."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import (
    BasisIn,
    Factor,
    FactorPair,
    Form,
    Name,
    Names,
    NotNegative,
    People,
    Text,
    Texts,
    plain_error,
)


class BookForm(Form):
    """The book as a whole; once, in the shared folder."""

    version: Text
    """The version of the knowledge, as records name it."""
    standing_cautions: Names = ()
    """Cautions on every first screen and every paper."""
    words_of_energy: Texts = ()
    """Words in the name of a part that stores energy; each such part has a caution. With or without an s behind."""
    words_of_danger: Texts = ()
    """Words in a condition by which a person can be hurt; each such condition shows a WARNING."""


class FamilyForm(Form):
    """The family; once, in its folder."""

    id: Name
    """The family's id: the name of its folder."""
    name: Text
    """What the screen calls this kind of gear."""
    proof: Name
    """The check that asks whether a squawk is gone, unless the symptom names another."""


class DefaultForm(Form):
    """A figure that holds unless an entry or the shop says otherwise."""

    value: NotNegative
    """The figure."""
    basis: BasisIn
    """Where it comes from."""


class SourceForm(Form):
    """A publication."""

    title: Text
    """The title as printed."""
    publisher: Text
    """Who published it."""
    edition: Text
    """Edition, revision or date."""
    seen: Literal["read", "in-part", "summary", "memory"]
    """How well it was read: read, in-part, summary (of somebody else's), memory."""


class OptionGroupForm(Form):
    """A group of options, of which an aircraft has one."""

    name: Text
    """What the group is about."""
    choices: Annotated[dict[str, Text], Field(min_length=2)]
    """The options, id: name; an aircraft has exactly one of them."""
    default: Name
    """The option taken where nothing is said of an aircraft."""

    @model_validator(mode="after")
    def _default_is_a_choice(self) -> OptionGroupForm:
        if self.default not in self.choices:
            what = f"the default `{self.default}` is not a choice"
            raise plain_error(what, f"write one of {', '.join(self.choices)}")
        return self


class CautionForm(Form):
    """A sentence to be shown before a step."""

    level: Literal["WARNING", "CAUTION", "NOTE"]
    """WARNING: a person can be hurt. CAUTION: the aircraft can be damaged. NOTE: the work goes wrong."""
    text: Text
    """The sentence shown before the step. It names the manual where a limit is wanted."""


class CircumstanceForm(Form):
    """What surrounds the squawk, with its factors on rates."""

    name: Text
    """What it is called."""
    ask: Text
    """The question that tells whether it was so."""
    promotes: FactorPair | None = None
    """Factor on the rates of faults that name it under `promoted_by`; one number or [hard, comes and goes]."""
    demotes: FactorPair | None = None
    """Factor on the rates of faults that name it under `demoted_by`; one number or [hard, comes and goes]."""
    intermittent_faults: FactorPair | None = None
    """Factor on every fault that can come and go; one number or [hard, comes and goes]."""
    steady_faults: Factor | None = None
    """Factor on every fault that never comes and goes."""
    basis: BasisIn | None = None
    """Where the factors come from."""


class WorkForm(Form):
    """What is done to set a condition up, or to put it back."""

    words: Text
    """What is done, in order."""
    minutes: NotNegative
    """Minutes on the clock."""


class RestoreForm(WorkForm):
    """What is done to put a condition back."""

    name: Text | None = None
    """The act as a title, "Lower off the jacks"; without it: "Put back: " and the condition's name."""


class ConditionForm(Form):
    """A state of the aircraft."""

    name: Text
    """The state of the aircraft."""
    set_up: WorkForm
    """How it is set up."""
    restore: RestoreForm
    """How it is put back."""
    implies: Names = ()
    """Conditions that stand as long as this one stands."""
    excludes: Names = ()
    """Conditions that never stand together with this one."""
    not_while: Names = ()
    """Conditions that must not stand while this one is set up or put back."""
    kept_to_last: bool = False
    """Whether it is put back only right before what it excludes is set up: what else a step wants comes first."""
    hazard: bool = False
    """Whether setting it up is risky; it then needs a WARNING."""
    proposed: bool = True
    """false for a state that is recorded as found and never set up on purpose."""
    waits: NotNegative = 0.0
    """Hours without hands, as for a cold soak."""
    people: People = 1
    """People that it takes."""
    equipment: Names = ()
    """What has to be at hand."""
    cautions: Names = ()
    """Shown before it is set up, and with every step that needs it."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""
    basis: BasisIn | None = None
    """Where the numbers come from."""


class LimitForm(Form):
    """A named limit; where to find it."""

    name: Text
    """What is limited."""
    unit: Text
    """The unit that the limit is given in."""
    where: Text
    """Which part of the maker's manual gives it: section and test."""
    typical: float | None = None
    """A typical value, for orientation alone; it never judges a reading."""
    basis: BasisIn | None = None
    """Where the typical value comes from."""


class OpeningAnswerForm(Form):
    """What an answer brings."""

    label: Text
    """The answer, as it is offered."""
    says: Text | None = None
    """What the mechanic is told then."""
    cautions: Names = ()
    """Cautions shown then."""
    first: Names = ()
    """Conditions that have to be set up before all else then."""


class OpeningForm(Form):
    """A question asked before anything is touched."""

    ask: Text
    """The question."""
    answers: Annotated[dict[str, OpeningAnswerForm], Field(min_length=2)]
    """The answers by id, two or more."""
