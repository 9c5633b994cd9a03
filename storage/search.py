"""From a `FrameFilter` to SQL: which frames, in which order."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, and_, func, literal_column, or_, select, union

from session.finding import FocusVerdict
from session.frame import FrameState
from session.setup import parse_label
from storage.columns import stored
from storage.frame_models import MOVING, Frame, Judgement, Overruling
from storage.models import Job, Note, Piece, Revision, RevisionLight, RevisionPassive, Setup, View
from storage.names import name_key
from storage.views import FrameFilter


def rows() -> Select[Any]:
    """All frames with what a line of the ledger shows."""
    latest = select(func.max(Judgement.position)).where(Judgement.frame_id == Frame.frame_id).correlate(Frame)
    notes = select(func.count()).where(Note.frame_id == Frame.frame_id).correlate(Frame)
    return (
        select(
            Frame,
            Job.name.label("job"),
            Job.client,
            Piece.name.label("piece"),
            View.name.label("view"),
            Setup.number.label("setup_number"),
            Revision.number.label("revision_number"),
            Judgement.blur_px,
            Judgement.defocus_mm,
            notes.scalar_subquery().label("note_count"),
        )
        .join(View, View.view_id == Frame.view_id)
        .join(Piece, Piece.piece_id == View.piece_id)
        .join(Job, Job.job_id == Frame.job_id)
        .join(Revision, Revision.revision_id == Frame.revision_id)
        .join(Setup, Setup.setup_id == Revision.setup_id)
        .outerjoin(
            Judgement,
            and_(Judgement.frame_id == Frame.frame_id, Judgement.position == latest.scalar_subquery()),
        )
    )


def matching(wanted: FrameFilter, newest_first: bool, limit: int | None) -> Select[Any]:
    """The frames that the filter lets through, oldest first: by number within a job, by time across jobs.

    `limit` counts from the end that comes first. Raises ValueError when `setup` is no set-up's label.
    """
    order: list[Any] = [Frame.number]
    if not wanted.job:
        order.insert(0, Frame.asked_at)
    if newest_first:
        order = [part.desc() for part in order]
    conditions = [*_own(wanted), *_by_place(wanted), *_by_set_up(wanted)]
    if wanted.text:
        conditions.append(_holding(wanted.text))
    query = rows()
    if limit is not None:  # the few are picked before anything is joined to them
        picked = select(Frame.frame_id).where(*conditions).order_by(*order).limit(limit)
        return query.where(Frame.frame_id.in_(picked)).order_by(*order)
    return query.where(*conditions).order_by(*order)


def _own(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on the frame's own columns."""
    conditions: list[ColumnElement[bool]] = []
    if wanted.since:
        conditions.append(Frame.asked_at >= wanted.since)
    if wanted.until:
        conditions.append(Frame.asked_at < wanted.until)
    if wanted.verdict is not None:
        verdict = Frame.focus_verdict if isinstance(wanted.verdict, FocusVerdict) else Frame.verdict
        conditions.append(verdict == literal_column(f"'{wanted.verdict.value}'"))  # in words, for the partial index
    if wanted.mark:
        conditions.append(Frame.mark == wanted.mark)
    if wanted.state:
        conditions.append(Frame.state == wanted.state)
        if wanted.state is not FrameState.LOGGED:
            conditions.append(literal_column(MOVING))
    if wanted.released_by:
        conditions.append(Frame.released_by == wanted.released_by)
    return conditions


def _by_place(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on job, client, piece and view."""
    conditions: list[ColumnElement[bool]] = []
    if wanted.job:
        conditions.append(Frame.job_id.in_(select(Job.job_id).where(Job.name_key == name_key(wanted.job))))
    if wanted.client:
        conditions.append(Frame.job_id.in_(select(Job.job_id).where(_is(Job.client, wanted.client))))
    if wanted.piece or wanted.view:
        views = select(View.view_id).join(Piece)
        if wanted.piece:
            views = views.where(Piece.name_key == name_key(wanted.piece))
        if wanted.view:
            views = views.where(View.name_key == name_key(wanted.view))
        conditions.append(Frame.view_id.in_(views))
    return conditions


def _by_set_up(wanted: FrameFilter) -> list[ColumnElement[bool]]:
    """Conditions on the revision and its lights."""
    conditions: list[ColumnElement[bool]] = []
    if wanted.setup:
        number, revision = parse_label(wanted.setup)
        revisions = select(Revision.revision_id).join(Setup).where(Setup.number == number)
        if revision is not None:
            revisions = revisions.where(Revision.number == revision)
        conditions.append(Frame.revision_id.in_(revisions))
    if wanted.light or wanted.shaper:
        lights = select(RevisionLight.revision_id)
        if wanted.light:
            lights = lights.where(_is(RevisionLight.name, wanted.light))
        if wanted.shaper:
            lights = lights.where(_is(RevisionLight.shaper, wanted.shaper))
        conditions.append(Frame.revision_id.in_(lights))
    return conditions


def _holding(words: str) -> ColumnElement[bool]:
    """The words occur in something that a person wrote or named."""
    light, item = RevisionLight, RevisionPassive
    arrangements = union(
        select(Revision.revision_id).where(_in(words, Revision.notes, Revision.must_be_sharp, Revision.may_fall_off)),
        select(light.revision_id).where(_in(words, light.name, light.shaper, light.note)),
        select(item.revision_id).where(_in(words, item.kind, item.name, item.note)),
    )
    places = select(View.view_id).join(Piece).join(Job)
    return or_(
        Frame.frame_id.in_(select(Note.frame_id).where(_in(words, Note.text))),
        Frame.frame_id.in_(select(Overruling.frame_id).where(_in(words, Overruling.reason))),
        Frame.revision_id.in_(arrangements),
        Frame.view_id.in_(places.where(_in(words, View.name, Piece.name, Job.name, Job.client))),
    )


def _in(words: str, *columns: Any) -> ColumnElement[bool]:
    sought = stored(words).casefold()
    return or_(*(func.instr(func.folded(column), sought) > 0 for column in columns))


def _is(column: Any, name: str) -> ColumnElement[bool]:
    return func.folded(column) == stored(name).casefold()
