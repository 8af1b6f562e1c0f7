"""What the written forms are made of: words, numbers within a range, references, gates, the basis.

Every message raised here is already in plain words: ``PlainError`` carries what is wrong and what would
be right through pydantic unchanged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag, model_validator
from pydantic_core import PydanticCustomError, core_schema

BRANCH = "branch:"
"""What the name of a branch of a union begins with, so that it can be told from the name of a field."""

GATES = ("any_of", "all_of", "not", "at_least")


def plain_error(what: str, right: str, rule: str = "value") -> PydanticCustomError:
    """An error of validation in words for people."""
    return PydanticCustomError("plain", "{what}", {"what": what, "right": right, "rule": rule})


@dataclass(frozen=True, slots=True)
class Between:
    """Bounds of a number, to stand in ``Annotated``. An open bound is itself left out."""

    low: float
    high: float
    open_low: bool = False
    open_high: bool = False

    def words(self) -> str:
        """The range in words."""
        low = f"above {self.low:.10g} and" if self.open_low else f"from {self.low:.10g} to"
        high = f"below {self.high:.10g}" if self.open_high else f"{self.high:.10g}"
        return f"{low} {'up to ' if self.open_low and not self.open_high else ''}{high}"

    def check(self, value: float) -> float:
        """The value, if it lies within."""
        under = value < self.low or (self.open_low and value == self.low)
        over = value > self.high or (self.open_high and value == self.high)
        if under or over:
            percent = f"; {value:.10g} % is {value / 100:.10g}" if self.high == 1 and 1 < value <= 100 else ""
            raise plain_error(f"{value:.10g} is out of range", f"write a number {self.words()}{percent}", "range")
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(self.check, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        said: dict[str, Any] = handler(schema)
        said["exclusiveMinimum" if self.open_low else "minimum"] = self.low
        said["exclusiveMaximum" if self.open_high else "maximum"] = self.high
        return said


@dataclass(frozen=True, slots=True, eq=False)
class InShort:
    """What may also be written in place of the whole, as a JSON Schema, to stand in ``Annotated``."""

    short: dict[str, Any]

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"anyOf": [self.short, handler(schema)]}


Probability = Annotated[float, Between(0, 1)]
Share = Annotated[float, Between(0, 1, open_low=True)]
Fresh = Annotated[float, Between(0, 1, open_low=True, open_high=True)]
FalseAlarm = Annotated[float, Between(0, 1, open_high=True)]
Positive = Annotated[float, Between(0, 10_000, open_low=True)]
NotNegative = Annotated[float, Between(0, 100_000)]
People = Annotated[int, Between(1, 20)]
Text = Annotated[str, Field(min_length=1)]
Name = Annotated[str, Field(min_length=1)]
"""An id that is defined elsewhere; whether it exists is asked later."""


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


Frozen = BeforeValidator(_frozen)
"""Makes a tuple of the list that YAML gives."""

Names = Annotated[tuple[Name, ...], Frozen]
Texts = Annotated[tuple[Text, ...], Frozen]


class Form(BaseModel):
    """A mapping as written. A field left empty counts as not stated."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _empty_is_not_stated(cls, data: Any) -> Any:
        if isinstance(data, dict):
            known = {field.alias or name for name, field in cls.model_fields.items()}
            return {name: value for name, value in data.items() if value is not None or name not in known}
        return data


def _kind_of(value: Any) -> str:
    if isinstance(value, dict):
        return BRANCH + "gate"
    return BRANCH + ("list" if isinstance(value, list) else "id")


def _as_ref(value: Any) -> str:
    return BRANCH + ("gate" if isinstance(value, dict) else "id")


Ref = Annotated[
    Annotated[Name, Tag(BRANCH + "id")] | Annotated["Gate", Tag(BRANCH + "gate")],
    Discriminator(_as_ref),
]
"""What can hold: an id, or a gate written in place."""

Refs = Annotated[list[Ref], Field(min_length=1)]

RefOrRefs = Annotated[
    Annotated[Name, Tag(BRANCH + "id")]
    | Annotated["Gate", Tag(BRANCH + "gate")]
    | Annotated[Refs, Tag(BRANCH + "list")],
    Discriminator(_kind_of),
]


class AtLeast(Form):
    """``count`` or more of what is listed."""

    count: Annotated[int, Between(1, 1000)]
    """How many have to hold."""
    of: Refs
    """What is counted."""


class Gate(Form):
    """Exactly one of the four gates."""

    any_of: Refs | None = None
    """Holds when one of these holds."""
    all_of: Refs | None = None
    """Holds when all of these hold."""
    none_of: RefOrRefs | None = Field(default=None, alias="not")
    """Holds when this does not, or none of these."""
    at_least: AtLeast | None = None
    """Holds when so many of these hold."""

    @model_validator(mode="after")
    def _exactly_one(self) -> Gate:
        given = [self.any_of, self.all_of, self.none_of, self.at_least]
        if sum(gate is not None for gate in given) != 1:
            what = "there must be exactly one gate here"
            raise plain_error(what, f"write one of {', '.join(f'`{gate}`' for gate in GATES)}", "one-gate")
        return self


BASIS_KINDS = ("published", "common-practice", "estimate", "shop-history")
"""The first of them needs its place, so it cannot stand alone."""


class BasisForm(Form):
    """Where a number comes from."""

    kind: Literal["published", "common-practice", "estimate", "shop-history"]
    """published, common-practice (what the trade does and no book says), estimate, or shop-history (counted)."""
    source: Name | None = None
    """The publication, by its id."""
    where: Text | None = None
    """The place in it: page, paragraph, table."""
    note: Text | None = None
    """What else there is to know about the number."""

    @model_validator(mode="after")
    def _published_says_where(self) -> BasisForm:
        if self.kind == "published" and (self.source is None or self.where is None):
            what = "a published basis needs the source and the place in it"
            raise plain_error(what, "add `source: <id of a source>` and `where: …`", "basis")
        return self


def _basis_in_a_word(value: Any) -> Any:
    return {"kind": value} if isinstance(value, str) else value


BasisIn = Annotated[BasisForm, BeforeValidator(_basis_in_a_word), InShort({"enum": list(BASIS_KINDS[1:])})]


def _legs_or_flag(value: Any) -> str:
    return BRANCH + ("list" if isinstance(value, list) else "flag")


Leg = Literal["left", "right", "nose"]
EachLeg = Annotated[
    Annotated[bool, Tag(BRANCH + "flag")] | Annotated[Annotated[list[Leg], Field(min_length=1)], Tag(BRANCH + "list")],
    Discriminator(_legs_or_flag),
]

Factor = Annotated[float, Between(0, 1000)]


def _pair(value: Any) -> Any:
    return [value, value] if isinstance(value, int | float) and not isinstance(value, bool) else value


_ALONE = InShort({"type": "number", "minimum": 0, "maximum": 1000})
FactorPair = Annotated[list[Factor], Field(min_length=2, max_length=2), BeforeValidator(_pair), _ALONE]
"""One factor, or two: for the hard mode and for the one that comes and goes."""
