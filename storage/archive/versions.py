"""The versions of the archive's tables: made, brought up step by step, or refused in words.

An archive says its version itself. A sending brings an older one up, in one transaction, under the lock stations
take in turn, so that a step that breaks changes nothing; looking never changes anything, so an older one must wait for
the next sending. A newer archive is refused whole: a stillset that doesn't know a table would leave rows out. To add
a step: the tables in `schema`, a version in `STEPS`, and the SQL that made the version before into `tests`.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import ProgrammingError

from session.ports import LogError

TABLE = "archive_version"

FIRST = "0003"
"""Named after the log's schema of its day; later versions are the archive's own."""

SECOND_COPIES = (
    """CREATE TABLE file_copy (
        frame_id UUID NOT NULL,
        sha256 TEXT NOT NULL,
        path TEXT NOT NULL,
        saved_at TIMESTAMP WITH TIME ZONE NOT NULL,
        CONSTRAINT pk_file_copy PRIMARY KEY (frame_id, sha256, path),
        CONSTRAINT ck_file_copy_sha256_length CHECK (length(sha256) = 64),
        CONSTRAINT fk_file_copy_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
    )""",
    """DO $$
    DECLARE grant_of record;
    BEGIN
        FOR grant_of IN
            SELECT privilege_type, CASE grantee WHEN 'PUBLIC' THEN 'PUBLIC' ELSE quote_ident(grantee) END AS who
            FROM information_schema.role_table_grants
            WHERE table_schema = current_schema() AND table_name = 'frame_file'
        LOOP
            EXECUTE format('GRANT %s ON file_copy TO %s', grant_of.privilege_type, grant_of.who);
        END LOOP;
    END $$""",
    "DELETE FROM archive_progress WHERE table_name = 'frame'",
)
"""Whoever may do something to files may do it to their copies. Stations look at all their frames again, for copies."""

AMBIENT_AND_GREY_PATCH = (
    "ALTER TABLE frame ADD COLUMN ambient BOOLEAN DEFAULT false NOT NULL",
    """ALTER TABLE revision
        ADD COLUMN patch_left_fraction FLOAT,
        ADD COLUMN patch_top_fraction FLOAT,
        ADD COLUMN patch_width_fraction FLOAT,
        ADD COLUMN patch_height_fraction FLOAT,
        ADD CONSTRAINT ck_revision_patch_in_picture CHECK (
            (patch_left_fraction IS NULL) = (patch_top_fraction IS NULL)
            AND (patch_left_fraction IS NULL) = (patch_width_fraction IS NULL)
            AND (patch_left_fraction IS NULL) = (patch_height_fraction IS NULL)
            AND patch_left_fraction >= 0 AND patch_top_fraction >= 0
            AND patch_width_fraction > 0 AND patch_height_fraction > 0
            AND patch_left_fraction + patch_width_fraction <= 1 + 1e-9
            AND patch_top_fraction + patch_height_fraction <= 1 + 1e-9)""",
)
"""No frame that was sent before was one of the ambient light."""

STEPS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    FIRST: ("4", SECOND_COPIES),
    "4": ("5", AMBIENT_AND_GREY_PATCH),
}
"""Version → the next one, and the statements that lead to it. Oldest first."""

HEAD = [*STEPS.values()][-1][0]


def version_of(connection: Connection) -> str | None:
    """None where there is no archive. Raises LogError for a version that this program doesn't know."""
    if not inspect(connection).has_table(TABLE):
        return None
    version = str(connection.scalar(text(f"SELECT version FROM {TABLE}")))
    if version != HEAD and version not in STEPS:
        raise LogError(
            f"The archive was made by a newer stillset (schema {version}, this one knows {HEAD})."
            " Nothing in it was changed; use the newer one."
        )
    return version


def check(connection: Connection) -> None:
    """Raises LogError when it isn't an archive of this program's version."""
    version = version_of(connection)
    if version is None:
        raise LogError("There is no archive in that database yet; the first `archive send` makes it.")
    if version != HEAD:
        raise LogError(
            f"The archive is of an older stillset (schema {version}, this one has {HEAD});"
            " the next `archive send` with this one brings it up to date."
        )


def bring_up(connection: Connection, version: str) -> None:
    """All steps from this version on, in the transaction that the connection is in. Raises LogError."""
    try:
        while version != HEAD:
            version, statements = STEPS[version]
            for statement in statements:
                connection.execute(text(statement))
            connection.execute(text(f"UPDATE {TABLE} SET version = :version").bindparams(version=version))
    except ProgrammingError as error:
        if getattr(error.orig, "sqlstate", None) != "42501":  # insufficient privilege
            raise
        raise LogError(
            "The archive is of an older stillset, and this name may not change its tables:"
            " whoever made it sends first, with this stillset."
        ) from error
