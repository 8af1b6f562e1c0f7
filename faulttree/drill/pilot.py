"""The pilot of a drill: of what pilots say of a squawk, this one says what they would also answer when asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from faulttree.book.drills import Practice, sayings
from faulttree.drill.chance import Stream
from faulttree.drill.gear import Gear


class Pilot:
    """Answers as the drill will: ``gear`` is a fresh one of the same drill, ``opening`` what is answered first."""

    def __init__(self, practice: Practice, gear: Gear, opening: Mapping[str, str]) -> None:
        self.practice, self.book, self.opening = practice, gear.book, opening
        self._gear = gear
        self._said: dict[str, str] = {}

    def answer(self, question: str) -> str:
        """What is answered when it is first asked."""
        if question not in self._said:
            self._said[question] = self._gear.show(question)
        return self._said[question]

    def stands_by(self, text: str, symptoms: Sequence[str]) -> bool:
        """Whether all that a text asserts goes with the answers."""
        asked = self.book.checks  # an option may leave a question out
        return all(
            not heard.never
            and all(self.answer(name) in those for name, those in heard.answers.items() if name in asked)
            and all(self.opening[question] in those for question, those in heard.opening.items())
            for heard in self.practice.asserted(text, symptoms)
        )

    def words(self, seed: int, symptoms: Sequence[str]) -> str:
        """A saying for each symptom; its name, where whatever pilots say of it would be untrue."""
        return "; ".join(self._saying(seed, symptom) for symptom in symptoms)

    def _saying(self, seed: int, name: str) -> str:
        symptom = self.book.symptoms[name]
        true = [text for text in sayings(symptom) if self.stands_by(text, (name,))]
        return true[Stream(seed, "words", name).below(len(true))] if true else symptom.name
