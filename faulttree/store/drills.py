"""Drills of each learner: the setting asked for and the acts. A change is a new version; the old ones stay."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, inspect, select
from sqlalchemy.exc import IntegrityError

from faulttree.errors import BadCase
from faulttree.store import schema
from faulttree.store.cards import storable
from faulttree.store.database import ONE_AT_A_TIME, Database, NotThere


@dataclass(frozen=True, slots=True)
class KeptDrill:
    """One drill of one learner. ``asked`` is what it is drawn by (level, seed, symptom, scenario, options, digest of
    the knowledge), ``acts`` what was done; ``score`` is there once it has ended, with its fault's ``subsystem``."""

    uid: str
    who: str
    family: str
    asked: Mapping[str, Any]
    acts: Sequence[Mapping[str, Any]] = ()
    score: Mapping[str, Any] = field(default_factory=dict)
    subsystem: str = ""
    version: int = 0
    at: str = ""

    @property
    def ended(self) -> bool:
        """Whether it was worked to its end."""
        return bool(self.score)


class Drills:
    """The drills of one database. A database from before there were drills gets their table with the first one."""

    def __init__(self, database: Database, now: Callable[[], datetime] | None = None) -> None:
        self.database = database
        self._now = now or (lambda: datetime.now().astimezone())

    def keep(self, drill: KeptDrill) -> KeptDrill:
        """Write a drill as the next version after its own. Raises BadCase where somebody else has, NotSaved."""
        version = drill.version + 1
        data = {
            "asked": dict(drill.asked), "acts": [dict(act) for act in drill.acts], "score": dict(drill.score),
            "subsystem": drill.subsystem,
        }  # fmt: skip
        at = self._now().astimezone(UTC).isoformat(timespec="seconds")
        row = {
            "uid": drill.uid, "version": version, "at": at, "who": storable(drill.who), "family": drill.family,
            "data": json.dumps(data),
        }  # fmt: skip
        try:
            with self.database.writing() as connection:
                self._make_table(connection)
                connection.execute(insert(schema.drills).values(**row))
        except IntegrityError:
            raise BadCase("this drill was gone on with elsewhere meanwhile; begin another") from None
        return replace(drill, version=version, at=at)

    def of(self, who: str) -> list[KeptDrill]:
        """The latest version of each drill of one learner, the oldest drill first."""
        return [drill for drill in self.all() if drill.who == storable(who)]

    def all(self) -> list[KeptDrill]:
        """The latest version of every drill, the oldest first."""
        table = schema.drills
        newest = select(table.c.uid, func.max(table.c.version).label("version")).group_by(table.c.uid).subquery()
        query = select(table).join(newest, (table.c.uid == newest.c.uid) & (table.c.version == newest.c.version))
        try:
            with self.database.reading() as connection:
                if not inspect(connection).has_table(table.name):
                    return []
                return [_drill(row) for row in connection.execute(query.order_by(table.c.at, table.c.uid))]
        except NotThere:
            return []

    def _make_table(self, connection: Connection) -> None:
        if not inspect(connection).has_table(schema.drills.name):
            if not self.database.is_file:
                connection.execute(select(func.pg_advisory_xact_lock(ONE_AT_A_TIME)))
            schema.drills.create(connection, checkfirst=True)


def _drill(row: Row[Any]) -> KeptDrill:
    try:
        data = json.loads(row.data)
        return KeptDrill(row.uid, row.who, row.family, **data, version=row.version, at=row.at)
    except (ValueError, TypeError) as problem:
        raise BadCase(f"drill {row.uid} cannot be read; the database was changed by other means") from problem
