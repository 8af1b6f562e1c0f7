"""What was worked out last, kept so that it need not be worked out again, in no more memory than is allowed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")

LEAST = 2
"""Values that are kept however large they are: what is at hand, and what is about to come of it."""


class Latest(Generic[Key, Value]):
    """The latest ``most`` values by their keys, fewer where their sizes add up to more than ``room``.

    ``size`` gives the size of a value, in any unit that ``room`` is in too.
    """

    def __init__(self, most: int, size: Callable[[Value], int] = lambda value: 0, room: int = 0) -> None:
        self.most, self._size, self._room = most, size, room
        self._values: OrderedDict[Key, Value] = OrderedDict()

    def __iter__(self) -> Iterator[Value]:
        return iter(self._values.values())

    def get(self, key: Key) -> Value | None:
        """The value of a key, which is the latest from now on; None where there is none."""
        if key in self._values:
            self._values.move_to_end(key)
        return self._values.get(key)

    def put(self, key: Key, value: Value) -> Value:
        """Keep a value as the latest one, and let go of the oldest where there is no room for it. Returns it."""
        self._values[key] = value
        self._values.move_to_end(key)
        used = sum(self._size(each) for each in self._values.values())
        while len(self._values) > self.most or (used > self._room and len(self._values) > LEAST):
            used -= self._size(self._values.popitem(last=False)[1])
        return value

    def clear(self) -> None:
        """Let go of all values."""
        self._values.clear()

    def pop(self, key: Key) -> Value | None:
        """Let go of the value of a key and return it."""
        return self._values.pop(key, None)
