"""Where the parts of one entry stand, which may be several files."""

from __future__ import annotations

from faulttree.book.positions import Position
from faulttree.book.yamlbuild import Path, Places


class Spots:
    """Where the parts of one entry stand; parts that overlays replaced stand in the overlay's file."""

    def __init__(self, places: Places, prefix: Path) -> None:
        self._origin = (places, prefix)
        self._replaced: dict[Path, tuple[Places, Path]] = {}

    def replace(self, path: Path, places: Places, where: Path) -> None:
        """From now on what lies at ``path`` of the entry stands at ``where`` in another file."""
        self._replaced = {old: place for old, place in self._replaced.items() if old[: len(path)] != path}
        self._replaced[path] = (places, where)

    def _find(self, path: Path) -> tuple[Places, Path]:
        for length in range(len(path), -1, -1):
            if path[:length] in self._replaced:
                places, where = self._replaced[path[:length]]
                return places, (*where, *path[length:])
        places, prefix = self._origin
        return places, (*prefix, *path)

    def key(self, *path: str | int) -> Position:
        """Where the key at ``path`` stands (the entry's own key for no path)."""
        places, where = self._find(path)
        return places.key(where)

    def value(self, *path: str | int) -> Position:
        """Where the value at ``path`` stands."""
        places, where = self._find(path)
        return places.value(where)
