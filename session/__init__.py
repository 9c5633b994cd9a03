"""The shoot, without screens, SQL or libgphoto2. Read in this order:

0. `quantities` what every number may be, and how a slip (mm for m) is asked about; `numbers` how they are written
1. `finding`   what a rule or a check says: level, number, limit, sentence, remedy
2. `kit`       what the photographer owns: bodies, lenses, lights, shapers, triggers, supports (a TOML file);
               `kit_fields` what each of its fields means
3. `setup`     the whole arrangement as one immutable revision, `07.3`
4. `frame`     one exposure from the wish to the row in the log, and its states as a table
5. `rules`     what is checked before the release; `checks` what is checked after it
6. `ports`     what this package needs from outside: a log, a clock, a camera, a judge
7. `events`    what happens, as the screen, the log and the tests hear it
8. `shoot`     the controller; `releasing` moves frames through the states, `arranging` changes the set-up, `going`
               brings a view's own into force, `changes` says what differs, `undoing` undoes what a person did,
               `approving` approves references;
               `ambient`, `lens_in_use`, `lights_in_use` what a set-up's light and lens come to
9. `cameras`   the one place that knows libgphoto2, in a process of its own
10. `live`     instruments on live view: focus number, stillness, sweep; `live_view` runs them, `peaks` and
               `supports` keep what they found with the set-up and in the kit (`kit_file`)
11. `optics`, `lighting`   pure functions on numbers, with their sources; `plan` what to put up, from them
12. `reconcile`, `disk`, `recovery`   what a crash or a pulled cable left, and how it is put right
13. `reshoot`   building an old set-up again

Nothing here imports `tui`, `storage` or `mock_camera`; a test keeps it so.
"""
