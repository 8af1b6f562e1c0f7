"""The written form of every entry, as pydantic models: strict, and nothing unknown let in.

One model per section (see :data:`FORMS`). Names of other entries are words here; whether they exist, and
what legs and options make of them, is seen to by the reader. The words below each field are what an editor shows.
"""

from __future__ import annotations

from faulttree.book.around import (
    BookForm,
    CautionForm,
    CircumstanceForm,
    ConditionForm,
    DefaultForm,
    FamilyForm,
    LimitForm,
    OpeningAnswerForm,
    OpeningForm,
    OptionGroupForm,
    RestoreForm,
    SourceForm,
    WorkForm,
)
from faulttree.book.forms import Form
from faulttree.book.gear import (
    ChainForm,
    ComponentForm,
    ElementForm,
    EventForm,
    FaultForm,
    IntermittentForm,
    SayingsForm,
    SymptomForm,
)
from faulttree.book.work import ActionForm, CheckForm, OutcomeForm, ReadingForm

__all__ = [
    "FORMS",
    "ActionForm",
    "BookForm",
    "CautionForm",
    "ChainForm",
    "CheckForm",
    "CircumstanceForm",
    "ComponentForm",
    "ConditionForm",
    "DefaultForm",
    "ElementForm",
    "EventForm",
    "FamilyForm",
    "FaultForm",
    "IntermittentForm",
    "LimitForm",
    "OpeningAnswerForm",
    "OpeningForm",
    "OptionGroupForm",
    "OutcomeForm",
    "ReadingForm",
    "RestoreForm",
    "SayingsForm",
    "SourceForm",
    "SymptomForm",
    "WorkForm",
]

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
