"""The logs of the cases: read, and added to. What is added is on the disk before the call returns."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from faulttree.case import CaseEntry, chained
from faulttree.errors import BadCase
from faulttree.store import schema
from faulttree.store.cards import CHANGES_CARD, Card, Wanted, card_of, last_of, storable, values_of
from faulttree.store.database import Database, NotThere

LATEST_NAMED = 5
NAME_TRIES = 1000

New = tuple[str, Mapping[str, Any]]
"""An entry to be written: its kind and data."""


class Overtaken(BadCase):
    """Somebody else has added to the case meanwhile; nothing was written. ``added`` is what they added."""

    def __init__(self, name: str, added: Sequence[CaseEntry]) -> None:
        who = ", ".join(dict.fromkeys(entry.who for entry in added))
        super().__init__(f"case {name} has {len(added)} more entries by now, from {who}; go on with it anew")
        self.added = list(added)


class Cases:
    """The cases of one database. ``now`` gives the moment, with the shop's time zone."""

    def __init__(self, database: Database, now: Callable[[], datetime] | None = None) -> None:
        self.database = database
        self._now = now or (lambda: datetime.now().astimezone())

    # -- reading ---------------------------------------------------------------------------------------

    def read(self, name: str) -> list[CaseEntry]:
        """All entries of a case. Raises BadCase where there is none, or an entry cannot be read; StoreError."""
        try:
            with self.database.reading() as connection:
                found = _log(connection, name)
                latest = [] if found else self._latest(connection)
        except NotThere:
            found, latest = [], []
        if not found:
            raise BadCase(f"there is no case {name!r}; the latest are: {', '.join(latest) or 'none yet'}")
        return found

    def _latest(self, connection: Connection) -> list[str]:
        newest = select(schema.cases.c.name).order_by(schema.cases.c.last_at.desc(), schema.cases.c.name.desc())
        return list(connection.execute(newest.limit(LATEST_NAMED)).scalars())

    def cards(self, wanted: Wanted | None = None, most: int | None = None) -> tuple[list[Card], int]:
        """The cases wanted, what was last worked first, at most so many; and how many there are in all."""
        where = (wanted or Wanted()).where()
        columns = [column for column in schema.cases.c if column.name != "words"]
        query = select(*columns).where(*where).order_by(schema.cases.c.last_at.desc(), schema.cases.c.name.desc())
        try:
            with self.database.reading() as connection:
                count = connection.execute(select(func.count()).select_from(schema.cases).where(*where)).scalar_one()
                return [card_of(row) for row in connection.execute(query.limit(most))], count
        except NotThere:
            return [], 0

    def card(self, name: str) -> Card | None:
        """One case's card, None where there is no such case."""
        with self.database.reading() as connection:
            row = connection.execute(select(schema.cases).where(schema.cases.c.name == name)).first()
        return None if row is None else card_of(row)

    def card_with_uid(self, uid: str) -> Card | None:
        """The card of the case with this uid, None where there is none. Raises NotThere."""
        with self.database.reading() as connection:
            row = connection.execute(select(schema.cases).where(schema.cases.c.uid == uid)).first()
        return None if row is None else card_of(row)

    # -- writing ---------------------------------------------------------------------------------------

    def open(self, who: str, data: Mapping[str, Any]) -> tuple[str, CaseEntry]:
        """Begin a case: its name is the day and a number. Returns the name and the first entry. Raises NotSaved."""
        uid = uuid.uuid4().hex
        entry = self._entry(1, who, "opened", {**data, "uid": uid}, "")
        for _ in range(NAME_TRIES):
            try:
                with self.database.writing() as connection:
                    name = self._free_name(connection)
                    _begin(connection, name, uid, [entry])
                return name, entry
            except IntegrityError:
                continue  # another laptop took the name
        raise BadCase("no name is free for another case today")

    def append(self, name: str, after: int, who: str, new: Sequence[New]) -> list[CaseEntry]:
        """Write entries behind the ``after`` that the caller knows of. Raises Overtaken, BadCase, NotSaved."""
        try:
            with self.database.writing() as connection:
                return self._append(connection, name, after, who, new)
        except IntegrityError:
            raise Overtaken(name, self.read(name)[after:]) from None

    def _append(self, connection: Connection, name: str, after: int, who: str, new: Sequence[New]) -> list[CaseEntry]:
        cards = schema.cases
        locked = select(cards.c.entries, cards.c.digest).where(cards.c.name == name).with_for_update()
        card = connection.execute(locked).first()
        if card is None:
            raise BadCase(f"there is no case {name!r}")
        if card.entries != after:
            raise Overtaken(name, _log(connection, name)[after:])
        added: list[CaseEntry] = []
        before = card.digest
        for number, (kind, data) in enumerate(new, after + 1):
            added.append(self._entry(number, who, kind, data, before))
            before = added[-1].digest
        write_entries(connection, name, added)
        if added:
            whole = any(entry.kind in CHANGES_CARD for entry in added)
            values = values_of(_log(connection, name)) if whole else last_of(added[-1])
            connection.execute(update(cards).where(cards.c.name == name).values(**values))
        return added

    def bring(self, name: str, uid: str, entries: Sequence[CaseEntry]) -> str:
        """Begin a case with entries that were written elsewhere, under a name that is free. Returns that name."""
        for place in range(1, NAME_TRIES):
            tried = name if place == 1 else f"{name}-{place}"
            try:
                with self.database.writing() as connection:
                    _begin(connection, tried, uid, entries)
                return tried
            except IntegrityError:
                continue
        raise BadCase(f"no name like {name!r} is free")

    def add_as_written(self, name: str, after: int, entries: Sequence[CaseEntry]) -> None:
        """Add entries of a case that were written elsewhere, digests and all. Raises Overtaken, NotSaved."""
        try:
            with self.database.writing() as connection:
                # The card first, as in `append`: two writers must wait for each other in the same order.
                connection.execute(select(schema.cases.c.name).where(schema.cases.c.name == name).with_for_update())
                write_entries(connection, name, entries)
                values = values_of(_log(connection, name))
                connection.execute(update(schema.cases).where(schema.cases.c.name == name).values(**values))
        except IntegrityError:
            raise Overtaken(name, self.read(name)[after:]) from None

    def _entry(self, number: int, who: str, kind: str, data: Mapping[str, Any], before: str) -> CaseEntry:
        now = self._now()
        at, local = (moment.isoformat(timespec="seconds") for moment in (now.astimezone(UTC), now))
        # As it will be read back: through JSON, so that the digest is over what is stored.
        kept = json.loads(json.dumps(dict(data)))
        return chained(CaseEntry(number, at, storable(who), kind, kept, local), before)

    def _free_name(self, connection: Connection) -> str:
        day = f"{self._now():%Y-%m-%d}-"
        names = schema.cases.c.name
        taken = connection.execute(select(names).where(names.like(f"{day}%"))).scalars()
        numbers = [int(rest) for rest in (name.removeprefix(day) for name in taken) if rest.isdecimal()]
        return f"{day}{max(numbers, default=0) + 1}"


def _begin(connection: Connection, name: str, uid: str, entries: Sequence[CaseEntry]) -> None:
    connection.execute(insert(schema.cases).values(name=name, uid=uid, **values_of(entries)))
    write_entries(connection, name, entries)


def write_entries(connection: Connection, name: str, entries: Iterable[CaseEntry]) -> None:
    """Rows for entries, in the transaction of the caller."""
    rows = [
        {
            "case_name": name, "number": e.number, "at": e.at, "local": e.local, "who": e.who, "kind": e.kind,
            "data": json.dumps(dict(e.data)), "digest": e.digest,
        }
        for e in entries
    ]  # fmt: skip
    if rows:
        connection.execute(insert(schema.entries), rows)


def _log(connection: Connection, name: str) -> list[CaseEntry]:
    table = schema.entries
    rows = connection.execute(select(table).where(table.c.case_name == name).order_by(table.c.number))
    return [entry_of(name, row) for row in rows]


def entry_of(name: str, row: Row[Any]) -> CaseEntry:
    """A row as an entry. Raises BadCase where its data were changed into something that is no data."""
    try:
        data = json.loads(row.data)
        if not isinstance(data, dict):
            raise ValueError
    except ValueError as problem:
        raise BadCase(
            f"case {name}, entry {row.number}: cannot be read; the database was changed by other means. "
            f"`faulttree cases verify {name}` says more"
        ) from problem
    return CaseEntry(row.number, row.at, row.who, row.kind, data, row.local, row.digest)
