"""What an overlay adds to the lists of an entry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from faulttree.book.spots import Spots
from faulttree.book.yamlbuild import Path
from faulttree.book.yamltext import YamlFile


def grown(old: Any, new: Any, spots: Spots, path: Path, read: YamlFile, where: Path) -> Any:
    """The cautions of both, the old ones first; anything but two lists is left for validation to refuse."""
    if not isinstance(old, list) or not isinstance(new, list):
        spots.replace(path, read.places, where)
        return old if new is None else new
    grown = list(old)
    for index, name in enumerate(new):
        if name not in grown:
            spots.replace((*path, len(grown)), read.places, (*where, index))
            grown.append(name)
    return grown


@dataclass(frozen=True, slots=True)
class Adding:
    """Puts what an amendment adds behind what the lists of an entry hold.

    ``where`` the lists that it adds to stand in its file; ``who`` the entry in words; ``refuse`` takes a path, what is
    wrong there and what would be right.
    """

    spots: Spots
    read: YamlFile
    where: Path
    who: str
    refuse: Callable[[Path, str, str], None]

    def to(self, old: Any, new: Any, path: Path) -> Any:
        """Lists of both, one behind the other, also below a mapping that both have; what was not there as it is."""
        if isinstance(old, list) and isinstance(new, list):
            return grown(old, new, self.spots, path, self.read, (*self.where, *path))
        if isinstance(old, dict) and isinstance(new, dict):
            changed = {name: self.to(old.get(name), more, (*path, name)) for name, more in new.items()}
            both = {name: changed.get(name, held) for name, held in old.items()}
            return _before_the_last(both, {name: more for name, more in changed.items() if name not in old})
        if old is None and isinstance(new, list | dict):
            self.spots.replace(path, self.read.places, (*self.where, *path))
            return new
        what = f"`{'.'.join(map(str, path))}` of {self.who} holds no list to add to"
        if isinstance(old, list):
            what = f"what is added to `{'.'.join(map(str, path))}` is no list"
        right = "write `[…]`" if isinstance(old, list) else "leave it out of `adds` and write what is to stand there"
        self.refuse(path, what, right)
        return old


def _before_the_last(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """New results of a check stand before the one that is shown otherwise; anything else new stands behind."""
    last = next(reversed(old), None)
    if last is not None and isinstance(old[last], dict) and old[last].get("otherwise") is True:
        return {**{name: held for name, held in old.items() if name != last}, **new, last: old[last]}
    return {**old, **new}
