"""The checks of a frame after the release. Read in this order:

1. `all_checks`  all checks on a frame, and which of them has the word
2. `checked_picture`   each picture opened and decoded once
3. `file`, `settings`                 is the file whole, and taken as asked
4. `brightness`, `flash_fired`, `missing_light`, `evenness`, `colour`, `ambient`   light against the
   reference, in stops, and `grey_patch`, a grey card by itself
5. `band_verdict`   the shutter's shadow: `against_reference`, `alone`, and `shadow` for how far it reaches
6. `focus_verdict`  how sharp the region is; `region` measures by `measure`, `map` tells where it is sharpest, `tilt`
   whether a flat piece came out of square
7. `drift_verdict`  did camera or piece move
8. `check_limits`   the table of the checks' limits, with origins
9. `judge_process`, `remote_judge`   the judge's process, and what the controller sees of it

A check measures and then finds: the measured numbers are a value of their own, the findings are sentences about them.
To add a check, write its module beside its like, give its limit an origin, and call the module in `all_checks`.
"""
