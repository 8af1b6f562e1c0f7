"""The shop's settings: one TOML file in the user's config folder. All of it may be left out.

overlays = ["/folder/of/the/shop's/own/knowledge"]    # ~ is your home; else from the folder of this file
leads = ["LOGIN"]         # logins that see the drills of all learners on this machine; this is no access control

[shop]
hourly_rate = 90          # money for an hour of one person; then minutes count for each person, and prices too
currency = "EUR"
help = 960                # minutes that calling in a specialist costs
comeback = 960            # minutes that a squawk costs which comes back
care = 10                 # minutes that a risky set-up counts beside its own
wait_weight = 0.1         # what a minute of waiting counts

[prices.electromechanical]    # what an action puts in, by family and the action's id
replace-up-lamp = 12.5

[hours]                       # that gears flew while the cases came in, for `knowledge rates`
power-pack = 5200             # of all aircraft with such a gear together, or by registration:
electromechanical = {QQ-ELM = 410, QQ-EWK = 95}
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from faulttree.advice import Figures
from faulttree.book.model import Book
from faulttree.errors import FaulttreeError

FIGURES = ("hourly_rate", "help", "comeback", "care", "wait_weight")
LARGEST = 1_000_000


class BadSettings(FaulttreeError):
    """A settings file that cannot be used; the message names file and line, what is wrong, what would be right."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the shop has set; None and empty where it has not. ``hours`` are by family and registration, "" for all
    aircraft together; ``where`` is the file it came from."""

    overlays: tuple[str, ...] = ()
    leads: tuple[str, ...] = ()
    currency: str = ""
    figures: Mapping[str, float] = field(default_factory=dict)
    prices: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    hours: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    where: Path | None = None
    text: str = ""

    def overlays_and(self, named: Sequence[str]) -> list[str]:
        """The folders of the shop's overlays, and those that are named besides, each once, in their order.

        Raises NoKnowledge for a named one that is there and holds nothing that any gear reads: a slip that would go
        unseen, since nothing is missing in the book then.
        """
        for folder in named:
            _holds_knowledge(Path(folder))
        once: dict[Path, str] = {}
        for folder in (*self.overlays, *named):
            once.setdefault(Path(folder).absolute(), folder)
        return list(once.values())

    def figures_for(self, book: Book) -> Figures:
        """The shop's figures, the book's where the shop has none. Raises BadSettings for a price of no action."""
        from difflib import get_close_matches

        prices = self.prices.get(book.family, {})
        for name in prices:
            if name not in book.actions:
                near = get_close_matches(name, list(book.actions), 1, 0.5)
                right = f"the nearest is {near[0]}" if near else "write the id of one of its actions"
                wrong = f"the {book.family} book has no action {name!r}"
                raise self.bad(f"prices.{book.family}", name, wrong, right)
        return replace(Figures.from_defaults(book.defaults), prices=prices, **self.figures)

    def bad(self, table: str, name: str, wrong: str, right: str) -> BadSettings:
        """A message with the place of a key."""
        return BadSettings(f"{self.where}:{line_of(self.text, table, name)}: {wrong}; {right}")


class NoKnowledge(FaulttreeError):
    """A folder of knowledge that holds none."""


def _holds_knowledge(folder: Path) -> None:
    from faulttree.book.files import families, readers

    from . import places

    if folder.is_dir() and not readers(None, folder, families([places.shipped_book(), folder])):
        right = "it wants a folder `shared` or one named after a family, with files that end in .yaml"
        raise NoKnowledge(f"there is no knowledge in {folder}; {right}")


def settings_file() -> Path:
    """Where the settings are, whether or not there are any."""
    if "FAULTTREE_SETTINGS" in os.environ:
        return Path(os.environ["FAULTTREE_SETTINGS"])
    import platformdirs

    return Path(platformdirs.user_config_dir("faulttree", appauthor=False)) / "settings.toml"


def read() -> Settings:
    """The shop's settings; those of a shop that has set nothing where there is no file. Raises BadSettings."""
    path = settings_file()
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Settings()
    except (OSError, UnicodeDecodeError) as problem:
        raise BadSettings(f"{path}: cannot be read ({problem}); it must be a text file in UTF-8") from None
    import tomllib  # most shops have set nothing

    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        found = re.search(r"line (\d+)", str(problem))
        line = found[1] if found else "1"
        raise BadSettings(
            f"{path}:{line}: not TOML ({problem}); write NAME = VALUE under [shop] or [prices.FAMILY]"
        ) from None
    return _checked(Settings(where=path, text=text), written)


def _folder(settings: Settings, written: str) -> str:
    """A folder as it is meant, whichever folder the program runs in."""
    assert settings.where is not None
    try:
        return str(settings.where.parent.absolute() / Path(written).expanduser())
    except RuntimeError:
        raise settings.bad("", "overlays", f"{written!r}: no home is known for ~", "write the whole path") from None


def _checked(empty: Settings, written: Mapping[str, Any]) -> Settings:
    for name in written:
        if name not in ("overlays", "leads", "shop", "prices", "hours"):
            known = "there are overlays, leads, [shop], [prices], [hours]"
            raise empty.bad("", name, f"{name!r} is not a setting", known)
    overlays = written.get("overlays", [])
    if not isinstance(overlays, list) or not all(isinstance(folder, str) for folder in overlays):
        raise empty.bad("", "overlays", "overlays are folders", 'write ["FOLDER", …]')
    leads = written.get("leads", [])
    if not isinstance(leads, list) or not all(isinstance(login, str) for login in leads):
        raise empty.bad("", "leads", "leads are logins", 'write ["LOGIN", …]')
    figures, currency = {}, ""
    for name, value in _table(empty, written, "shop").items():
        if name == "currency":
            if not isinstance(value, str):
                raise empty.bad("shop", name, "a currency is a word", 'write "EUR", say')
            currency = value
        elif name in FIGURES:
            figures[name] = _number(empty, "shop", name, value)
        else:
            known = ", ".join(("currency", *FIGURES))
            raise empty.bad("shop", name, f"{name!r} is not a setting of [shop]", f"there are {known}")
    if figures.get("hourly_rate") == 0:
        raise empty.bad("shop", "hourly_rate", "an hourly rate of 0 makes every price endless", "leave it out")
    prices = {family: _prices(empty, family, table) for family, table in _table(empty, written, "prices").items()}
    hours = {family: _hours(empty, family, given) for family, given in _table(empty, written, "hours").items()}
    return replace(
        empty,
        overlays=tuple(_folder(empty, written) for written in overlays),
        leads=tuple(leads),
        currency=currency,
        figures=figures,
        prices=prices,
        hours=hours,
    )


def _table(empty: Settings, written: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = written.get(name, {})
    if not isinstance(table, dict):
        raise empty.bad("", name, f"{name} is a table", f"write [{name}] on a line of its own")
    return table


def _prices(empty: Settings, family: str, table: object) -> dict[str, float]:
    if not isinstance(table, dict):
        raise empty.bad("prices", family, "prices stand by family", "write [prices.FAMILY] above ACTION = PRICE")
    return {name: _number(empty, f"prices.{family}", name, value) for name, value in table.items()}


def _hours(empty: Settings, family: str, given: object) -> dict[str, float]:
    if not isinstance(given, dict):
        return {"": _number(empty, "hours", family, given)}
    # Written on one line, it stands where its family does.
    apart = f"hours.{family}" in empty.text
    table, key = (f"hours.{family}", "") if apart else ("hours", family)
    return {name: _number(empty, table, name, value, key) for name, value in given.items()}


def _number(empty: Settings, table: str, name: str, value: object, key: str = "") -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= LARGEST:
        raise empty.bad(table, key or name, f"{name} is {value!r}", f"write a number from 0 to {LARGEST}")
    return float(value)


def line_of(text: str, table: str, name: str) -> int:
    """The line on which a key of a table stands, counted from 1; the table's own, or 1, where it is not seen."""
    now, last = "", 1
    key = re.compile(rf'\s*(\[\s*)?["\']?{re.escape(name)}["\']?\s*(=|\])')
    for number, line in enumerate(text.splitlines(), 1):
        heading = re.match(r"\s*\[\s*([^\]]+?)\s*\]", line)
        if heading:
            now = heading[1]
            last = number if now == table else last
        if key.match(line) and (now == table or (heading and not table)):
            return number
    return last
