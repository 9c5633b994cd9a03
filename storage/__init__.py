"""The log: SQL, migrations, and where files go. Read in this order:

1. `models`, `frame_models`  the tables with their constraints; `columns` how times and text are kept, `names` how
                             names are matched
2. `database`    opening the file: one writer, many readers; `errors` in plain words, `writer_lock`
3. `migrations`  the schema's versions, run from code at start
4. `log`         `SqlLog`, which answers `session.frame.ports.Log`; its statements stand by topic in `places`, `setups`,
                 `frames`, `judgements`, `cards`, `people` and `events`; those of each frame are `prepared`;
                 `acts` and `undo` undo what a person did
5. `reading`     `LogReader`, what screens and commands look up; `search` and `records` its queries (`conditions`,
                 `search_text`, on `search_models`), `stats` its counts, `views` the values that come out, `json_lines`
                 and `csv_lines` a frame as a JSON object or a row
6. `soundness`   whether a log is damaged, and where; `rescue` brings what is whole into a new one; `copies` of a log
7. `paths`       the folder and the name of a frame's files

The studio's `archive` on PostgreSQL is a package of its own; `station_models` is who this log is in it.

Imports `session`, never `tui`. Importing this package alone loads neither SQLAlchemy nor Alembic.
"""
