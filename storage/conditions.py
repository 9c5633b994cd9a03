"""From the fields of a `FrameFilter` to conditions in SQL, the same on SQLite and PostgreSQL.

Conditions on places and set-ups are asked of `frame` or of `revision_use`, whichever is walked along: both carry the
keys. Those on the frame's own columns are apart.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sqlalchemy import ColumnElement, Connection, literal_column, or_, select
from sqlalchemy.orm import InstrumentedAttribute

from session.finding import FocusVerdict
from session.frame import FrameState, ReleasedBy
from session.setup import parse_label
from storage import search_text
from storage.frame_models import MOVING, Frame
from storage.models import Job, Piece, Revision, RevisionLight, Setup, View
from storage.names import name_key
from storage.search_models import NOTE, OVERRULED, RevisionUse
from storage.views import FrameFilter

Keyed = type[Frame] | type[RevisionUse]


def of_time(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on when the frame was asked for."""
    since = [Frame.asked_at >= wanted.since] if wanted.since else []
    return since + ([Frame.asked_at < wanted.until] if wanted.until else [])


def of_frame(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on the frame's other columns; values that a partial index is made for stand there in words."""
    conditions: list[ColumnElement[bool]] = []
    if wanted.verdict is not None:
        verdict = Frame.focus_verdict if isinstance(wanted.verdict, FocusVerdict) else Frame.verdict
        conditions.append(verdict == literal_column(f"'{wanted.verdict.value}'"))
    if wanted.mark:
        conditions.append(Frame.mark == wanted.mark)
    if wanted.state:
        conditions.append(Frame.state == wanted.state)
        if wanted.state is not FrameState.LOGGED:
            conditions.append(literal_column(MOVING))
    if wanted.released_by:
        conditions.append(Frame.released_by == literal_column(f"'{ReleasedBy(wanted.released_by).value}'"))
    return conditions


def of_place_and_set_up(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    """Conditions on job, client, piece, view, set-up, lights and magnification."""
    return [*_of_place(connection, wanted, table), *_of_set_up(connection, wanted, table)]


def of_words(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    """One condition for each term of the text: it stands in something of the frame, or of the use of a set-up."""
    if not wanted.text:
        return []
    sought = search_text.terms(wanted.text)
    if not sought:
        return [literal_column("1 = 0")]
    keys: list[Any] = [table.job_id, table.view_id, table.revision_id]
    keys.append(Frame.frame_id if table is Frame else RevisionUse.piece_id)
    conditions = []
    for term in sought:
        found = search_text.owners(term, connection.dialect.name)
        places: list[ColumnElement[bool]] = [key.in_(found) for key in keys]
        if table is Frame:
            places.append(Frame.view_id.in_(select(View.view_id).where(View.piece_id.in_(found))))
        conditions.append(or_(*places))
    return conditions


def noted(connection: Connection, wanted: FrameFilter) -> Any:
    """The keys of frames that one of the terms stands in a note of, or in the reason of an overruling."""
    return search_text.any_of(search_text.terms(wanted.text), connection.dialect.name, (NOTE, OVERRULED))


def _of_place(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    if wanted.job:
        conditions.append(table.job_id.in_(select(Job.job_id).where(Job.name_key == name_key(wanted.job))))
    if wanted.client:
        conditions.append(table.job_id.in_(select(Job.job_id).where(_is(connection, Job.client, wanted.client))))
    if wanted.piece or wanted.view:
        views = select(View.view_id)
        if wanted.piece:
            views = views.join(Piece).where(Piece.name_key == name_key(wanted.piece))
        if wanted.view:
            views = views.where(View.name_key == name_key(wanted.view))
        conditions.append(table.view_id.in_(views))
    return conditions


def _of_set_up(connection: Connection, wanted: FrameFilter, table: Keyed) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    if wanted.setup:
        number, revision = parse_label(wanted.setup)
        revisions = select(Revision.revision_id).join(Setup).where(Setup.number == number)
        if revision is not None:
            revisions = revisions.where(Revision.number == revision)
        conditions.append(table.revision_id.in_(revisions))
    of_light = _range(RevisionLight.power_ev, wanted.power_ev_from, wanted.power_ev_to)
    if wanted.light:
        of_light.append(_is(connection, RevisionLight.name, wanted.light))
    if wanted.shaper:
        of_light.append(_is(connection, RevisionLight.shaper, wanted.shaper))
    if of_light:
        conditions.append(table.revision_id.in_(select(RevisionLight.revision_id).where(*of_light)))
    enlarged = _range(Revision.magnification, wanted.magnification_from, wanted.magnification_to)
    if enlarged:
        conditions.append(table.revision_id.in_(select(Revision.revision_id).where(*enlarged)))
    return conditions


def _range(column: Any, least: float | None, most: float | None) -> list[ColumnElement[bool]]:
    return ([column >= least] if least is not None else []) + ([column <= most] if most is not None else [])


def _is(connection: Connection, column: InstrumentedAttribute[str], name: str) -> Any:
    """The column holds the name, without regard to case in any alphabet: databases fold A to Z only, at best."""
    return _held(connection, column, lambda held: held.casefold() == name.casefold())


def _held(connection: Connection, column: InstrumentedAttribute[str], fits: Callable[[str], bool]) -> Any:
    """The column is one of its values that fit. Few values in very many rows: an index is walked from one to the next.

    Source: https://www.sqlite.org/lang_with.html, recursive queries; the same on PostgreSQL.
    """
    first = select(column.label("held")).order_by(column).limit(1).subquery()
    walk = select(first.c.held).cte("walk", recursive=True)
    following = select(column).where(column > walk.c.held).order_by(column).limit(1).scalar_subquery()
    walk = walk.union_all(select(following).where(walk.c.held.is_not(None)))
    values = connection.scalars(select(walk.c.held).where(walk.c.held.is_not(None)))
    return column.in_([value for value in values if fits(value)])
