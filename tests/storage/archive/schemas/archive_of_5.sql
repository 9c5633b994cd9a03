CREATE TABLE archive_station (
	station_id UUID NOT NULL, 
	name TEXT NOT NULL, 
	pushed_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_archive_station PRIMARY KEY (station_id)
);

CREATE TABLE archive_version (
	version TEXT NOT NULL, 
	CONSTRAINT pk_archive_version PRIMARY KEY (version)
);

CREATE TABLE camera (
	camera_id UUID NOT NULL, 
	serial TEXT NOT NULL, 
	model TEXT NOT NULL, 
	first_seen_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	card_noted_at TIMESTAMP WITH TIME ZONE, 
	CONSTRAINT pk_camera PRIMARY KEY (camera_id)
);

CREATE TABLE job (
	job_id UUID NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	client TEXT NOT NULL, 
	created_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_job PRIMARY KEY (job_id), 
	CONSTRAINT uq_job_name_key UNIQUE (name_key), 
	CONSTRAINT ck_job_name_key_filled CHECK (name_key <> '')
);

CREATE TABLE archive_progress (
	station_id UUID NOT NULL, 
	table_name TEXT NOT NULL, 
	last_row BIGINT NOT NULL, 
	last_key TEXT NOT NULL, 
	CONSTRAINT pk_archive_progress PRIMARY KEY (station_id, table_name), 
	CONSTRAINT fk_archive_progress_station_id FOREIGN KEY(station_id) REFERENCES archive_station (station_id)
);

CREATE TABLE piece (
	piece_id UUID NOT NULL, 
	job_id UUID NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	created_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_piece PRIMARY KEY (piece_id), 
	CONSTRAINT uq_piece_job_id_name_key UNIQUE (job_id, name_key), 
	CONSTRAINT fk_piece_job_id FOREIGN KEY(job_id) REFERENCES job (job_id), 
	CONSTRAINT ck_piece_name_key_filled CHECK (name_key <> '')
);

CREATE TABLE setup (
	setup_id UUID NOT NULL, 
	job_id UUID NOT NULL, 
	number INTEGER NOT NULL, 
	created_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_setup PRIMARY KEY (setup_id), 
	CONSTRAINT ck_setup_number_positive CHECK (number > 0), 
	CONSTRAINT fk_setup_job_id FOREIGN KEY(job_id) REFERENCES job (job_id), 
	CONSTRAINT uq_setup_job_id_number UNIQUE (job_id, number)
);

CREATE TABLE view (
	view_id UUID NOT NULL, 
	piece_id UUID NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	created_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_view PRIMARY KEY (view_id), 
	CONSTRAINT uq_view_piece_id_name_key UNIQUE (piece_id, name_key), 
	CONSTRAINT fk_view_piece_id FOREIGN KEY(piece_id) REFERENCES piece (piece_id), 
	CONSTRAINT ck_view_name_key_filled CHECK (name_key <> '')
);

CREATE TABLE revision (
	revision_id UUID NOT NULL, 
	setup_id UUID NOT NULL, 
	number INTEGER NOT NULL, 
	view_id UUID NOT NULL, 
	created_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	exposure_s FLOAT NOT NULL, 
	f_number FLOAT, 
	iso INTEGER NOT NULL, 
	white_balance TEXT, 
	file_format TEXT, 
	lens TEXT NOT NULL, 
	focal_length_mm FLOAT NOT NULL, 
	magnification FLOAT NOT NULL, 
	pupil_magnification FLOAT NOT NULL, 
	reversed BOOLEAN NOT NULL, 
	extension_mm FLOAT NOT NULL, 
	dioptres FLOAT NOT NULL, 
	converter FLOAT NOT NULL, 
	region_left_fraction FLOAT NOT NULL, 
	region_top_fraction FLOAT NOT NULL, 
	region_width_fraction FLOAT NOT NULL, 
	region_height_fraction FLOAT NOT NULL, 
	body TEXT NOT NULL, 
	trigger TEXT NOT NULL, 
	stand TEXT NOT NULL, 
	hold_off_s FLOAT NOT NULL, 
	blur_limit_px FLOAT NOT NULL, 
	depth_needed_mm FLOAT, 
	must_be_sharp TEXT NOT NULL, 
	may_fall_off TEXT NOT NULL, 
	ambient_ev FLOAT, 
	ticked JSON NOT NULL, 
	notes TEXT NOT NULL, 
	light_count INTEGER NOT NULL, 
	passive_count INTEGER NOT NULL, 
	patch_left_fraction FLOAT, 
	patch_top_fraction FLOAT, 
	patch_width_fraction FLOAT, 
	patch_height_fraction FLOAT CONSTRAINT ck_revision_patch_in_picture CHECK ((patch_left_fraction IS NULL) = (patch_top_fraction IS NULL) AND (patch_left_fraction IS NULL) = (patch_width_fraction IS NULL) AND (patch_left_fraction IS NULL) = (patch_height_fraction IS NULL) AND patch_left_fraction >= 0 AND patch_top_fraction >= 0 AND patch_width_fraction > 0 AND patch_height_fraction > 0 AND patch_left_fraction + patch_width_fraction <= 1 + 1e-9 AND patch_top_fraction + patch_height_fraction <= 1 + 1e-9), 
	CONSTRAINT pk_revision PRIMARY KEY (revision_id), 
	CONSTRAINT ck_revision_depth_needed_mm_positive CHECK (depth_needed_mm > 0), 
	CONSTRAINT ck_revision_number_positive CHECK (number > 0), 
	CONSTRAINT ck_revision_focal_length_mm_positive CHECK (focal_length_mm > 0), 
	CONSTRAINT ck_revision_pupil_magnification_positive CHECK (pupil_magnification > 0), 
	CONSTRAINT ck_revision_exposure_s_positive CHECK (exposure_s > 0), 
	CONSTRAINT ck_revision_blur_limit_px_positive CHECK (blur_limit_px > 0), 
	CONSTRAINT fk_revision_setup_id FOREIGN KEY(setup_id) REFERENCES setup (setup_id), 
	CONSTRAINT ck_revision_converter_positive CHECK (converter > 0), 
	CONSTRAINT ck_revision_region_in_picture CHECK (region_left_fraction >= 0 AND region_top_fraction >= 0 AND region_width_fraction > 0 AND region_height_fraction > 0 AND region_left_fraction + region_width_fraction <= 1 + 1e-9 AND region_top_fraction + region_height_fraction <= 1 + 1e-9), 
	CONSTRAINT ck_revision_iso_not_negative CHECK (iso >= 0), 
	CONSTRAINT ck_revision_extension_mm_not_negative CHECK (extension_mm >= 0), 
	CONSTRAINT uq_revision_setup_id_number UNIQUE (setup_id, number), 
	CONSTRAINT ck_revision_magnification_not_negative CHECK (magnification >= 0), 
	CONSTRAINT ck_revision_f_number_positive CHECK (f_number > 0), 
	CONSTRAINT ck_revision_hold_off_s_not_negative CHECK (hold_off_s >= 0), 
	CONSTRAINT fk_revision_view_id FOREIGN KEY(view_id) REFERENCES view (view_id)
);

CREATE INDEX ix_revision_magnification ON revision (magnification);

CREATE INDEX ix_revision_view_id ON revision (view_id);

CREATE TABLE frame (
	frame_id UUID NOT NULL, 
	job_id UUID NOT NULL, 
	number INTEGER NOT NULL, 
	view_id UUID NOT NULL, 
	revision_id UUID NOT NULL, 
	camera_id UUID NOT NULL, 
	folder TEXT NOT NULL, 
	stem TEXT NOT NULL, 
	asked_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	released_by TEXT NOT NULL, 
	released_at TIMESTAMP WITH TIME ZONE, 
	saved_at TIMESTAMP WITH TIME ZONE, 
	sought_at TIMESTAMP WITH TIME ZONE, 
	state TEXT NOT NULL, 
	state_text TEXT NOT NULL, 
	fired TEXT NOT NULL, 
	focus_verdict TEXT, 
	verdict TEXT, 
	mark TEXT, 
	ambient BOOLEAN DEFAULT false NOT NULL, 
	CONSTRAINT pk_frame PRIMARY KEY (frame_id), 
	CONSTRAINT ck_frame_released_by_known CHECK (released_by IN ('tool', 'body')), 
	CONSTRAINT fk_frame_camera_id FOREIGN KEY(camera_id) REFERENCES camera (camera_id), 
	CONSTRAINT fk_frame_job_id FOREIGN KEY(job_id) REFERENCES job (job_id), 
	CONSTRAINT ck_frame_verdict_known CHECK (verdict IN ('clean', 'flawed')), 
	CONSTRAINT fk_frame_revision_id FOREIGN KEY(revision_id) REFERENCES revision (revision_id), 
	CONSTRAINT ck_frame_state_known CHECK (state IN ('asked', 'refused', 'held off', 'called off', 'releasing', 'not fired', 'uncertain', 'receiving', 'missing', 'saved', 'logged')), 
	CONSTRAINT ck_frame_fired_known CHECK (fired IN ('yes', 'no', 'unknown')), 
	CONSTRAINT ck_frame_mark_known CHECK (mark IN ('hero', 'select', 'alternate', 'kill')), 
	CONSTRAINT uq_frame_job_id_number UNIQUE (job_id, number), 
	CONSTRAINT ck_frame_number_positive CHECK (number > 0), 
	CONSTRAINT ck_frame_focus_verdict_known CHECK (focus_verdict IN ('sharp', 'soft', 'missed', 'unjudged')), 
	CONSTRAINT fk_frame_view_id FOREIGN KEY(view_id) REFERENCES view (view_id)
);

CREATE INDEX ix_frame_asked_at ON frame (asked_at);

CREATE INDEX ix_frame_by_body ON frame (asked_at);

CREATE INDEX ix_frame_camera_id ON frame (camera_id);

CREATE INDEX ix_frame_flawed ON frame (asked_at);

CREATE INDEX ix_frame_focus_verdict_asked_at_revision_id_view_id ON frame (focus_verdict, asked_at, revision_id, view_id);

CREATE INDEX ix_frame_mark_asked_at ON frame (mark, asked_at);

CREATE INDEX ix_frame_moving ON frame (state);

CREATE INDEX ix_frame_revision_id_view_id_asked_at ON frame (revision_id, view_id, asked_at);

CREATE INDEX ix_frame_view_id ON frame (view_id);

CREATE TABLE revision_light (
	revision_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	power_ev FLOAT NOT NULL, 
	distance_mm FLOAT, 
	azimuth_deg FLOAT, 
	elevation_deg FLOAT, 
	shaper TEXT NOT NULL, 
	note TEXT NOT NULL, 
	CONSTRAINT pk_revision_light PRIMARY KEY (revision_id, position), 
	CONSTRAINT uq_revision_light_revision_id_name UNIQUE (revision_id, name), 
	CONSTRAINT fk_revision_light_revision_id FOREIGN KEY(revision_id) REFERENCES revision (revision_id), 
	CONSTRAINT ck_revision_light_distance_mm_positive CHECK (distance_mm > 0)
);

CREATE INDEX ix_revision_light_name ON revision_light (name);

CREATE INDEX ix_revision_light_power_ev ON revision_light (power_ev);

CREATE INDEX ix_revision_light_shaper ON revision_light (shaper);

CREATE TABLE revision_passive (
	revision_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	name TEXT NOT NULL, 
	distance_mm FLOAT, 
	azimuth_deg FLOAT, 
	elevation_deg FLOAT, 
	note TEXT NOT NULL, 
	CONSTRAINT pk_revision_passive PRIMARY KEY (revision_id, position), 
	CONSTRAINT fk_revision_passive_revision_id FOREIGN KEY(revision_id) REFERENCES revision (revision_id), 
	CONSTRAINT ck_revision_passive_distance_mm_positive CHECK (distance_mm > 0)
);

CREATE TABLE archive_frame (
	frame_id UUID NOT NULL, 
	station_id UUID NOT NULL, 
	CONSTRAINT pk_archive_frame PRIMARY KEY (frame_id), 
	CONSTRAINT fk_archive_frame_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT fk_archive_frame_station_id FOREIGN KEY(station_id) REFERENCES archive_station (station_id)
);

CREATE INDEX ix_archive_frame_station_id ON archive_frame (station_id);

CREATE TABLE archive_preview (
	frame_id UUID NOT NULL, 
	jpeg BYTEA NOT NULL, 
	CONSTRAINT pk_archive_preview PRIMARY KEY (frame_id), 
	CONSTRAINT fk_archive_preview_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

CREATE TABLE camera_reading (
	frame_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	read_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	exposure_s FLOAT, 
	f_number FLOAT, 
	iso BIGINT, 
	settings JSON NOT NULL, 
	CONSTRAINT pk_camera_reading PRIMARY KEY (frame_id, position), 
	CONSTRAINT ck_camera_reading_f_number_positive CHECK (f_number > 0), 
	CONSTRAINT ck_camera_reading_iso_not_negative CHECK (iso >= 0), 
	CONSTRAINT fk_camera_reading_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT ck_camera_reading_exposure_s_positive CHECK (exposure_s > 0)
);

CREATE TABLE card_object (
	card_object_id UUID NOT NULL, 
	camera_id UUID NOT NULL, 
	folder TEXT NOT NULL, 
	name TEXT NOT NULL, 
	bytes BIGINT NOT NULL, 
	modified_at_s FLOAT, 
	disposition TEXT NOT NULL, 
	frame_id UUID, 
	noted_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_card_object PRIMARY KEY (card_object_id), 
	CONSTRAINT fk_card_object_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT ck_card_object_frame_named CHECK ((frame_id IS NULL) = (disposition = 'found before')), 
	CONSTRAINT fk_card_object_camera_id FOREIGN KEY(camera_id) REFERENCES camera (camera_id), 
	CONSTRAINT ck_card_object_disposition_known CHECK (disposition IN ('found before', 'saved', 'missing'))
);

CREATE INDEX ix_card_object_frame_id ON card_object (frame_id);

CREATE TABLE event (
	event_id UUID NOT NULL, 
	at TIMESTAMP WITH TIME ZONE NOT NULL, 
	kind TEXT NOT NULL, 
	text TEXT NOT NULL, 
	frame_id UUID, 
	payload JSON, 
	CONSTRAINT pk_event PRIMARY KEY (event_id), 
	CONSTRAINT fk_event_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

CREATE INDEX ix_event_frame_id ON event (frame_id);

CREATE INDEX ix_event_kind_at ON event (kind, at);

CREATE TABLE file_copy (
	frame_id UUID NOT NULL, 
	sha256 TEXT NOT NULL, 
	path TEXT NOT NULL, 
	saved_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_file_copy PRIMARY KEY (frame_id, sha256, path), 
	CONSTRAINT ck_file_copy_sha256_length CHECK (length(sha256) = 64), 
	CONSTRAINT fk_file_copy_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

CREATE TABLE judgement (
	frame_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	judged_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	verdict TEXT NOT NULL, 
	blur_px FLOAT, 
	blur_sd_px FLOAT, 
	defocus_mm FLOAT, 
	scale FLOAT, 
	sharpest_x_fraction FLOAT, 
	sharpest_y_fraction FLOAT, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_judgement PRIMARY KEY (frame_id, position), 
	CONSTRAINT ck_judgement_verdict_known CHECK (verdict IN ('sharp', 'soft', 'missed', 'unjudged')), 
	CONSTRAINT fk_judgement_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

CREATE TABLE note (
	note_id UUID NOT NULL, 
	frame_id UUID NOT NULL, 
	text TEXT NOT NULL, 
	written_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_note PRIMARY KEY (note_id), 
	CONSTRAINT ck_note_text_filled CHECK (text <> ''), 
	CONSTRAINT fk_note_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
);

CREATE INDEX ix_note_frame_id ON note (frame_id);

CREATE TABLE overruling (
	frame_id UUID NOT NULL, 
	rule TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	overruled_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_overruling PRIMARY KEY (frame_id, rule), 
	CONSTRAINT fk_overruling_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT ck_overruling_reason_filled CHECK (reason <> '')
);

CREATE TABLE reference (
	setup_id UUID NOT NULL, 
	piece_id UUID NOT NULL, 
	frame_id UUID NOT NULL, 
	approved_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	CONSTRAINT pk_reference PRIMARY KEY (setup_id, piece_id), 
	CONSTRAINT fk_reference_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT fk_reference_setup_id FOREIGN KEY(setup_id) REFERENCES setup (setup_id), 
	CONSTRAINT fk_reference_piece_id FOREIGN KEY(piece_id) REFERENCES piece (piece_id)
);

CREATE INDEX ix_reference_frame_id ON reference (frame_id);

CREATE TABLE finding (
	frame_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	judgement_position INTEGER, 
	found_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	name TEXT NOT NULL, 
	level TEXT NOT NULL, 
	text TEXT NOT NULL, 
	value FLOAT, 
	limit_value FLOAT, 
	unit TEXT NOT NULL, 
	remedy_kind TEXT, 
	remedy_text TEXT NOT NULL, 
	remedy_settings JSON NOT NULL, 
	remedy_wait_s FLOAT NOT NULL, 
	CONSTRAINT pk_finding PRIMARY KEY (frame_id, position), 
	CONSTRAINT ck_finding_remedy_kind_known CHECK (remedy_kind IN ('set camera', 'wait', 'by hand', 'tick')), 
	CONSTRAINT ck_finding_level_known CHECK (level IN ('stop', 'caution', 'note')), 
	CONSTRAINT fk_finding_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT ck_finding_name_filled CHECK (name <> ''), 
	CONSTRAINT fk_finding_frame_id_judgement_position FOREIGN KEY(frame_id, judgement_position) REFERENCES judgement (frame_id, position)
);

CREATE INDEX ix_finding_name ON finding (name);

CREATE TABLE frame_file (
	frame_id UUID NOT NULL, 
	position INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	path TEXT NOT NULL, 
	bytes BIGINT NOT NULL, 
	sha256 TEXT NOT NULL, 
	saved_at TIMESTAMP WITH TIME ZONE NOT NULL, 
	card_object_id UUID NOT NULL, 
	CONSTRAINT pk_frame_file PRIMARY KEY (frame_id, position), 
	CONSTRAINT ck_frame_file_bytes_not_negative CHECK (bytes >= 0), 
	CONSTRAINT fk_frame_file_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id), 
	CONSTRAINT fk_frame_file_card_object_id FOREIGN KEY(card_object_id) REFERENCES card_object (card_object_id), 
	CONSTRAINT ck_frame_file_sha256_length CHECK (length(sha256) = 64)
);

CREATE INDEX ix_frame_file_card_object_id ON frame_file (card_object_id);

CREATE INDEX ix_frame_file_path ON frame_file (path);

CREATE INDEX ix_frame_file_sha256 ON frame_file (sha256);

CREATE VIEW revision_use AS
    SELECT view_id, revision_id, job_id, min(asked_at) AS first_asked_at, max(asked_at) AS last_asked_at,
           count(*) AS frame_count
    FROM frame GROUP BY view_id, revision_id, job_id;

CREATE VIEW use_words AS
    SELECT u.view_id, u.revision_id, concat_ws(E'\n', j.name, j.client, p.name, v.name,
            r.notes, r.must_be_sharp, r.may_fall_off, r.lens,
            (SELECT string_agg(concat_ws(E'\n', l.name, l.shaper, l.note), E'\n')
             FROM revision_light l WHERE l.revision_id = r.revision_id),
            (SELECT string_agg(concat_ws(E'\n', i.kind, i.name, i.note), E'\n')
             FROM revision_passive i WHERE i.revision_id = r.revision_id)) AS text
    FROM revision_use u JOIN revision r USING (revision_id) JOIN view v ON v.view_id = u.view_id
    JOIN piece p USING (piece_id) JOIN job j ON j.job_id = p.job_id;

CREATE VIEW searchable AS
    SELECT view_id, revision_id, NULL::uuid AS frame_id, text FROM use_words
    UNION ALL SELECT f.view_id, f.revision_id, f.frame_id, concat_ws(E'\n', w.text,
            (SELECT string_agg(n.text, E'\n') FROM note n WHERE n.frame_id = f.frame_id),
            (SELECT string_agg(o.reason, E'\n') FROM overruling o WHERE o.frame_id = f.frame_id))
    FROM frame f JOIN use_words w ON w.view_id = f.view_id AND w.revision_id = f.revision_id
    WHERE EXISTS (SELECT 1 FROM note n WHERE n.frame_id = f.frame_id)
       OR EXISTS (SELECT 1 FROM overruling o WHERE o.frame_id = f.frame_id);

INSERT INTO archive_version VALUES ('5');
