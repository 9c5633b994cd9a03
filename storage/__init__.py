"""The log: SQL, migrations, and where files go. Read in this order, from the ground up:

1. `schema`      the tables with their constraints (`models`, `frame_models`), how times and text are kept (`columns`),
                 the statements of each frame, `prepared` once
2. `files`       the folder and the name of a frame's files, copies of a log, the writer's lock
3. `migrations`  the schema's versions, run from code when a log is opened
4. `database`    `log_database` opens the file: one writer, many readers; `soundness` whether a log is damaged, and
                 where; `rescue` brings what is whole into a new one; `at_rest` keeps its copy
5. `writing`     `log` has `SqlLog`, which answers `session.frame.ports.Log`; its statements stand by topic beside it;
                 `acts_in_force` and `undo` undo what a person did
6. `archive`     the studio's archive on PostgreSQL
7. `reading`     `log_reader` has `LogReader`, what screens and commands look up in a log or an archive; `frame_search`
                 and `records` its queries, `stats` its counts, `views` the values that come out, `json_lines` and
                 `csv_lines` a frame as a JSON object or a row; `verify` reads every file again
8. `handover`    what leaves the table: which files, their sidecars, the folder with hashes

Imports `session`, never `tui`. Importing this package alone loads neither SQLAlchemy nor Alembic.
"""
