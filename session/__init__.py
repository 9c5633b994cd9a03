"""The shoot, without screens, SQL or libgphoto2. Read in this order, from the ground up:

1. `units`     what every number may be, and how a slip (mm for m) is asked about; how numbers and settings are written
2. `system`    processes and files of our own; `picture` files as pictures
3. `optics`, `lighting`   pure functions on numbers, with their sources
4. `set`       `kit` what the photographer owns (a TOML file), `setup` the whole arrangement as one immutable revision,
               `07.3`; `lens_in_use`, `lights_in_use` and `ambient_kept` what lens and light come to
5. `frame`     `states` one exposure from the wish to the row in the log, as a table; `finding` what a rule or a check
               says; `camera_messages` the words to the camera and from it; `ports` the needs of this package
6. `order`     what a client wants of a job, and what is to go; `plan` what to put up; `rules` the judgements before
               the release; `checks` those after the release; `live` instruments on live view;
               `match` an old set-up built again, step by step
7. `cameras`   the one place that knows libgphoto2, in a process of its own
8. `shoot`     `acts` what a person may ask, `events` what happens; `controller` matches on acts and on the camera's
               messages; `releasing` moves frames through the states, `arranging` changes the set-up, `going` brings a
               view's own into force, `undoing` undoes what a person did; `reconcile` and `recovery` put right what a
               crash or a pulled cable left; `live_stream` runs the instruments

The package imports neither `tui` nor `storage` nor `mock_camera`; a test reads every import.
"""
