"""The written form of the gear itself: components, their faults, events, chains, symptoms."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import (
    BasisIn,
    Between,
    EachLeg,
    FalseAlarm,
    Form,
    Gate,
    Name,
    Names,
    Positive,
    Probability,
    Ref,
    Share,
    Text,
    Texts,
    plain_error,
)


class ComponentForm(Form):
    """A part of the gear."""

    name: Text
    """The part, as a mechanic calls it; `{leg}` where each leg has one."""
    also_called: Texts = ()
    """Other names for it."""
    ata: Text | None = None
    """Its ATA 100 sub-chapter, such as 32-30."""
    legs: Annotated[dict[Literal["left", "right", "nose"], Share], Field(min_length=2)] | None = None
    """The share of its rates that each leg has, if each has one; they add up to 1."""
    cautions: Names = ()
    """Shown with every step on the part."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""
    basis: BasisIn | None = None
    """Where the shares come from."""

    @model_validator(mode="after")
    def _shares_add_up(self) -> ComponentForm:
        if self.legs is not None and abs(sum(self.legs.values()) - 1) > 0.001:
            what = f"the shares of the legs add up to {sum(self.legs.values()):g}"
            raise plain_error(what, "let them add up to 1", "leg-shares")
        return self


class IntermittentForm(Form):
    """A fault's share that comes and goes, and how often such a one shows."""

    share: Probability
    """The share of its occurrences that come and go, 0 to 1."""
    shows: Share
    """How likely such a one shows when it is looked at, 0 to 1."""


class FaultForm(Form):
    """One failure mode of one component."""

    name: Text
    """The mode only, such as `burned open`; the component's name is put before it."""
    rate: Positive | None = None
    """Per 1000 flight hours of the aircraft, all legs together."""
    probability: Annotated[float, Between(0, 1, open_low=True, open_high=True)] | None = None
    """For what is simply so or not, such as a switch left on; instead of a rate."""
    basis: BasisIn | None = None
    """Where the number comes from."""
    intermittent: IntermittentForm | None = None
    """How much of it comes and goes."""
    promoted_by: Names = ()
    """Circumstances that make it likelier."""
    demoted_by: Names = ()
    """Circumstances that speak against it."""
    corrected_by: Names = ()
    """Actions that end it."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""

    @model_validator(mode="after")
    def _rate_or_probability(self) -> FaultForm:
        if (self.rate is None) == (self.probability is None):
            what = "a fault has either a rate or a plain probability"
            raise plain_error(what, "write `rate: …` (per 1000 flight hours) or `probability: …`", "rate")
        return self


class EventForm(Gate):
    """A gate with a name."""

    name: Text
    """What is so when it holds."""
    each_leg: EachLeg = False
    """true, or a list of legs: one event for each leg, in which a legged name means the same leg."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""


class ElementForm(Form):
    """One place along a chain."""

    faults: list[Ref] = Field(default_factory=list)
    """What can be wrong at this place."""
    tap: Text | None = None
    """The id of the point behind it; others name it `chain@tap`."""
    name: Text | None = None
    """What the screen calls this point, in some 18 signs."""


class ChainForm(Form):
    """An ordered series of elements."""

    name: Text
    """What the chain carries."""
    starts_at: Name | None = None
    """The tap of another chain that it starts at."""
    elements: Annotated[list[ElementForm], Field(min_length=1)]
    """From the source on, in the order of the current, the fluid or the drive."""
    each_leg: EachLeg = False
    """true, or a list of legs: one chain for each leg."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""


class SymptomForm(Form):
    """A top event with the words pilots use."""

    name: Text
    """The squawk in the words of the trade."""
    says: Texts
    """How pilots put it: five ways at least, better eight."""
    when: Ref
    """The event that brings it about."""
    unlisted: FalseAlarm | None = None
    """The share of such squawks whose cause the book does not know."""
    noticed: Probability | None = None
    """How likely a pilot notices it if it is there."""
    proof: Name | None = None
    """The check that asks whether it is gone, if not the family's."""
    pilot_advice: Texts = ()
    """What the pilot is told."""
    cautions: Names = ()
    """Shown with every step on such a squawk."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""
    basis: BasisIn | None = None
    """Where the numbers come from."""


class SayingsForm(Form):
    """More words of pilots for the symptom of the same id, in whichever family has it."""

    says: Texts
    """More ways in which pilots put it."""
    denied_by: Texts = ()
    """Words that, a clause by themselves, say that it was not so: "three greens"."""
    speaks_of: Texts = ()
    """Words, as `words` names them, by which a clause speaks of it: its way of travel, its part."""
    not_of: Texts = ()
    """Words by which a clause with none of the former speaks of something else."""
