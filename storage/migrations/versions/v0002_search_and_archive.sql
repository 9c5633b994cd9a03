CREATE TABLE revision_use (
    use_id INTEGER NOT NULL,
    view_id CHAR(32) NOT NULL,
    revision_id CHAR(32) NOT NULL,
    job_id CHAR(32) NOT NULL,
    first_asked_at DATETIME NOT NULL,
    last_asked_at DATETIME NOT NULL,
    frame_count INTEGER NOT NULL,
    CONSTRAINT pk_revision_use PRIMARY KEY (use_id),
    CONSTRAINT uq_revision_use_revision_id_view_id UNIQUE (revision_id, view_id),
    CONSTRAINT fk_revision_use_view_id FOREIGN KEY(view_id) REFERENCES "view" (view_id),
    CONSTRAINT fk_revision_use_revision_id FOREIGN KEY(revision_id) REFERENCES revision (revision_id),
    CONSTRAINT fk_revision_use_job_id FOREIGN KEY(job_id) REFERENCES job (job_id)
);
CREATE INDEX ix_revision_use_job_id ON revision_use (job_id);
CREATE INDEX ix_revision_use_last_asked_at_first_asked_at ON revision_use (last_asked_at, first_asked_at);
CREATE INDEX ix_revision_use_view_id ON revision_use (view_id);

CREATE TABLE searchable (
    searchable_id INTEGER NOT NULL,
    frame_id CHAR(32),
    text TEXT NOT NULL,
    CONSTRAINT pk_searchable PRIMARY KEY (searchable_id),
    CONSTRAINT fk_searchable_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);
CREATE UNIQUE INDEX uq_searchable_frame_id ON searchable (frame_id) WHERE frame_id IS NOT NULL;

CREATE TABLE station (
    station_id CHAR(32) NOT NULL,
    CONSTRAINT pk_station PRIMARY KEY (station_id)
);

CREATE TABLE pulled_frame (
    frame_id CHAR(32) NOT NULL,
    CONSTRAINT pk_pulled_frame PRIMARY KEY (frame_id),
    CONSTRAINT fk_pulled_frame_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

DROP INDEX ix_frame_revision_id;
CREATE INDEX ix_frame_revision_id_view_id_asked_at ON frame (revision_id, view_id, asked_at);
DROP INDEX ix_frame_focus_verdict_asked_at;
CREATE INDEX ix_frame_focus_verdict_asked_at_revision_id_view_id ON frame
    (focus_verdict, asked_at, revision_id, view_id);
CREATE INDEX ix_frame_by_body ON frame (asked_at) WHERE released_by = 'body';
CREATE INDEX ix_revision_magnification ON revision (magnification);
CREATE INDEX ix_revision_light_power_ev ON revision_light (power_ev);
