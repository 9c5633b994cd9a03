"""The SQL by which a `FrameFilter` finds frames, and their order.

The newest few of very many frames are picked by one of two ways, and only then is anything joined to them:
along the frames themselves, newest first, when the conditions are on the frame, or few frames can fit; or by way of
`revision_use`, when they are on places, set-ups and words: of n frames wanted, all lie in the n fitting uses with the
newest last frames.
"""

from __future__ import annotations

from itertools import accumulate
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, exists, false, func, select, union

from storage.reading import conditions, search_text
from storage.reading.views import FrameFilter
from storage.schema.frame_models import FrameTable, JudgementTable
from storage.schema.models import JobTable, NoteTable, PieceTable, RevisionTable, SetupTable, ViewTable
from storage.schema.search_models import RevisionUseTable

PAGE = 200
"""Uses counted at a time."""

FEW = 20_000
"""Frames that may be looked at one by one; more are walked along in order. Measured: a few dozen ms for so many."""


def rows() -> Select[Any]:
    """All frames with what a line of the ledger shows."""
    latest = (
        select(func.max(JudgementTable.position))
        .where(JudgementTable.frame_id == FrameTable.frame_id)
        .correlate(FrameTable)
    )
    notes = select(func.count()).where(NoteTable.frame_id == FrameTable.frame_id).correlate(FrameTable)
    return (
        select(
            FrameTable,
            JobTable.name.label("job"),
            JobTable.client,
            PieceTable.name.label("piece"),
            ViewTable.name.label("view"),
            SetupTable.number.label("setup_number"),
            RevisionTable.number.label("revision_number"),
            JudgementTable.blur_px,
            JudgementTable.defocus_mm,
            notes.scalar_subquery().label("note_count"),
        )
        .join(ViewTable, ViewTable.view_id == FrameTable.view_id)
        .join(PieceTable, PieceTable.piece_id == ViewTable.piece_id)
        .join(JobTable, JobTable.job_id == FrameTable.job_id)
        .join(RevisionTable, RevisionTable.revision_id == FrameTable.revision_id)
        .join(SetupTable, SetupTable.setup_id == RevisionTable.setup_id)
        .outerjoin(
            JudgementTable,
            and_(JudgementTable.frame_id == FrameTable.frame_id, JudgementTable.position == latest.scalar_subquery()),
        )
    )


def matching(connection: Connection, wanted: FrameFilter, newest_first: bool, limit: int | None) -> Select[Any]:
    """The frames that the filter lets through: by job, in the order in which jobs were begun, and number.

    Newest first: by number in one job, by time across jobs. `limit` counts from the end that comes first.
    Raises ValueError when `setup` is no set-up's label.
    """
    order: list[Any] = [
        FrameTable.job_id,
        FrameTable.number,
    ]  # not the time: a computer's clock may have gone back meanwhile
    if newest_first:
        order = [FrameTable.number.desc()] if wanted.job else [FrameTable.asked_at.desc(), FrameTable.number.desc()]
    if limit is None:
        return rows().where(*_all(connection, wanted, few=False)).order_by(*order)
    if newest_first and not wanted.job and _by_use(wanted):
        picked = _newest(connection, wanted, limit)
        return rows().where(FrameTable.frame_id.in_(picked)).order_by(*order).limit(limit)
    few = select(FrameTable.frame_id).where(*_all(connection, wanted, few=True)).order_by(*order).limit(limit)
    return rows().where(FrameTable.frame_id.in_(few)).order_by(*order)


def _all(connection: Connection, wanted: FrameFilter, *, few: bool) -> list[ColumnElement[bool]]:
    return [
        *conditions.of_time(wanted),
        *conditions.of_frame(wanted),
        *conditions.of_place_and_set_up(connection, wanted, FrameTable),
        *conditions.of_words(connection, wanted, few=few),
    ]


def _by_use(wanted: FrameFilter) -> bool:
    names = ("text", "client", "piece", "view", "light", "shaper", "setup")
    ranges = (wanted.power_ev_from, wanted.power_ev_to, wanted.magnification_from, wanted.magnification_to)
    return any(getattr(wanted, name) for name in names) or any(end is not None for end in ranges)


def _newest(connection: Connection, wanted: FrameFilter, limit: int) -> Any:
    """Keys of the newest fitting frames: those whose revision's use fits as a whole, and those with a fitting note."""
    own = [*conditions.of_time(wanted), *conditions.of_frame(wanted)]
    of_use = conditions.of_place_and_set_up(connection, wanted, RevisionUseTable)
    if not wanted.text:
        return _newest_in_uses(connection, wanted, of_use, own, limit)
    sought, dialect = search_text.terms(wanted.text), connection.dialect.name
    if not sought:
        return select(FrameTable.frame_id).where(false())
    of_use.append(search_text.fitting_uses(sought, dialect))
    noted, order = search_text.fitting_frames(sought, dialect)
    noted = noted.where(*own, *conditions.of_place_and_set_up(connection, wanted, FrameTable))
    by_note = noted.order_by(order).limit(limit).subquery()
    by_use = _newest_in_uses(connection, wanted, of_use, own, limit).subquery()
    return union(select(by_use.c.frame_id), select(by_note.c.frame_id))


def _newest_in_uses(
    connection: Connection,
    wanted: FrameFilter,
    of_use: list[ColumnElement[bool]],
    own: list[ColumnElement[bool]],
    limit: int,
) -> Select[Any]:
    use = (RevisionUseTable.revision_id, RevisionUseTable.view_id)
    if not conditions.of_frame(wanted):
        found = _in_uses(_newest_uses(wanted, of_use, limit))
    elif _few_frames_in(connection, of_use):
        found = _in_uses(select(*use).where(*of_use).subquery())
    else:  # `coalesce` keeps the planner from leaving the order of time for a look-up of every use
        this = RevisionUseTable.revision_id == func.coalesce(FrameTable.revision_id, FrameTable.revision_id)
        found = select(FrameTable.frame_id).where(
            exists().where(this, RevisionUseTable.view_id == FrameTable.view_id, *of_use)
        )
    return found.where(*own).order_by(FrameTable.asked_at.desc(), FrameTable.number.desc()).limit(limit)


def _newest_uses(wanted: FrameFilter, of_use: list[ColumnElement[bool]], limit: int) -> Any:
    """The fitting uses with the newest frames; when `until` is given, also all fitting uses that go on after it."""
    use = (RevisionUseTable.revision_id, RevisionUseTable.view_id)
    if wanted.since:
        of_use = [*of_use, RevisionUseTable.last_asked_at >= wanted.since]
    newest = RevisionUseTable.last_asked_at.desc()
    if not wanted.until:
        return select(*use).where(*of_use).order_by(newest).limit(limit).subquery()
    before = select(*use).where(*of_use, RevisionUseTable.last_asked_at < wanted.until).order_by(newest).limit(limit)
    across = RevisionUseTable.last_asked_at >= wanted.until, RevisionUseTable.first_asked_at < wanted.until
    ends, goes_on = before.subquery(), select(*use).where(*of_use, *across).subquery()
    return union(select(ends), select(goes_on)).subquery()


def _in_uses(use: Any) -> Select[Any]:
    fits = and_(FrameTable.revision_id == use.c.revision_id, FrameTable.view_id == use.c.view_id)
    return select(FrameTable.frame_id).select_from(use).join(FrameTable, fits)


def _few_frames_in(connection: Connection, of_use: list[ColumnElement[bool]]) -> bool:
    """Whether all frames of these uses may be looked at one by one; counted only until there are too many."""
    counts = connection.execute(
        select(RevisionUseTable.frame_count).where(*of_use), execution_options={"yield_per": PAGE}
    )
    with counts:
        return all(total <= FEW for total in accumulate(counts.scalars()))
