"""The conditions in SQL for the fields of a `FrameFilter`, the same on SQLite and PostgreSQL.

Conditions on places and set-ups are asked of `frame` or of `revision_use`, whichever is walked along: both carry the
keys. Those on the frame's own columns are apart.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Connection, exists, false, func, literal_column, or_, select, tuple_, union
from sqlalchemy.orm import InstrumentedAttribute, aliased

from session.frame.finding import FocusVerdict
from session.frame.states import FrameState, ReleasedBy
from session.set.setup import parse_label
from session.units.names import name_key
from storage.reading import search_text
from storage.reading.views import FrameFilter
from storage.schema.frame_models import MOVING, FrameTable
from storage.schema.models import JobTable, PieceTable, RevisionLightTable, RevisionTable, SetupTable, ViewTable
from storage.schema.search_models import RevisionUseTable

Keyed = type[FrameTable] | type[RevisionUseTable]

FEW = 2000
"""Rows of set-ups that are looked up one by one. Measured: about as quick as to ask each of 40,000 uses."""


def of_time(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on when the frame was asked for."""
    since = [FrameTable.asked_at >= wanted.since] if wanted.since else []
    return since + ([FrameTable.asked_at < wanted.until] if wanted.until else [])


def of_frame(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on the frame's other columns; values for which a partial index is made are written as literals."""
    conditions: list[ColumnElement[bool]] = []
    if wanted.verdict is not None:
        verdict = FrameTable.focus_verdict if isinstance(wanted.verdict, FocusVerdict) else FrameTable.verdict
        conditions.append(verdict == literal_column(f"'{wanted.verdict.value}'"))
    if wanted.mark:
        conditions.append(FrameTable.mark == wanted.mark)
    if wanted.state:
        conditions.append(FrameTable.state == wanted.state)
        if wanted.state is not FrameState.LOGGED:
            conditions.append(literal_column(MOVING))
    if wanted.released_by:
        conditions.append(FrameTable.released_by == literal_column(f"'{ReleasedBy(wanted.released_by).value}'"))
    return conditions


def of_place_and_set_up(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    """Conditions on job, client, piece, view, set-up, lights and magnification."""
    return [*_of_place(connection, wanted, table), *_of_set_up(connection, wanted, table)]


def of_words(connection: Connection, wanted: FrameFilter, *, few: bool) -> list[ColumnElement[bool]]:
    """Condition on `frame`: all terms of the text stand in the words that belong to the frame.

    few  only the first frames of an order are wanted: each is asked, and the search ends when there are enough; else
         all that fit are looked up by the index of words
    """
    if not wanted.text:
        return []
    sought = search_text.terms(wanted.text)
    if not sought:
        return [false()]
    dialect = connection.dialect.name
    uses = select(RevisionUseTable.revision_id, RevisionUseTable.view_id).where(
        search_text.fitting_uses(sought, dialect)
    )
    noted, _ = search_text.fitting_frames(sought, dialect)
    if few:
        return [or_(tuple_(FrameTable.revision_id, FrameTable.view_id).in_(uses), FrameTable.frame_id.in_(noted))]
    one = aliased(FrameTable)
    of_uses = select(one.frame_id).where(tuple_(one.revision_id, one.view_id).in_(uses))
    return [FrameTable.frame_id.in_(union(of_uses, noted))]


def _of_place(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    if wanted.job:
        conditions.append(table.job_id.in_(select(JobTable.job_id).where(JobTable.name_key == name_key(wanted.job))))
    if wanted.client:
        clients = connection.scalars(select(JobTable.client).distinct())
        named = JobTable.client.in_([client for client in clients if client.casefold() == wanted.client.casefold()])
        conditions.append(table.job_id.in_(select(JobTable.job_id).where(named)))
    if wanted.piece or wanted.view:
        views = select(ViewTable.view_id)
        if wanted.piece:
            views = views.join(PieceTable).where(PieceTable.name_key == name_key(wanted.piece))
        if wanted.view:
            views = views.where(ViewTable.name_key == name_key(wanted.view))
        conditions.append(table.view_id.in_(views))
    return conditions


def _of_set_up(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    if wanted.setup:
        number, revision = parse_label(wanted.setup)
        revisions = select(RevisionTable.revision_id).join(SetupTable).where(SetupTable.number == number)
        if revision is not None:
            revisions = revisions.where(RevisionTable.number == revision)
        conditions.append(table.revision_id.in_(revisions))
    of_light = _range(RevisionLightTable.power_ev, wanted.power_ev_from, wanted.power_ev_to)
    if wanted.light:
        of_light.append(_is(connection, RevisionLightTable.name, wanted.light))
    if wanted.shaper:
        of_light.append(_is(connection, RevisionLightTable.shaper, wanted.shaper))
    if of_light:
        conditions.append(_with(connection, table, RevisionLightTable.revision_id, of_light))
    enlarged = _range(RevisionTable.magnification, wanted.magnification_from, wanted.magnification_to)
    if enlarged:
        conditions.append(_with(connection, table, RevisionTable.revision_id, enlarged))
    return conditions


def _with(connection: Connection, table: Keyed, key: Any, fits: list[ColumnElement[bool]]) -> ColumnElement[bool]:
    """The revision has such a row. Few such rows are looked up first; where there are many, each use or frame asks."""
    some = select(key).where(*fits)
    counted = connection.scalar(select(func.count()).select_from(some.limit(FEW + 1).subquery())) or 0
    if counted <= FEW:
        return table.revision_id.in_(some)
    return exists().where(key == table.revision_id, *fits)


def _range(column: Any, least: float | None, most: float | None) -> list[ColumnElement[bool]]:
    return ([column >= least] if least is not None else []) + ([column <= most] if most is not None else [])


def _is(connection: Connection, column: InstrumentedAttribute[str], name: str) -> Any:
    """The indexed column holds the name, without regard to case in any alphabet: databases fold A to Z, at best.

    Few values in very many rows: the index is walked from one value to the next.
    Source: https://www.sqlite.org/lang_with.html, recursive queries; the same on PostgreSQL.
    """
    first = select(column.label("held")).order_by(column).limit(1).subquery()
    walk = select(first.c.held).cte("walk", recursive=True)
    following = select(column).where(column > walk.c.held).order_by(column).limit(1).scalar_subquery()
    walk = walk.union_all(select(following).where(walk.c.held.is_not(None)))
    values = connection.scalars(select(walk.c.held).where(walk.c.held.is_not(None)))
    return column.in_([value for value in values if value.casefold() == name.casefold()])
