"""What is found out about a frame after the release. Read in this order:

1. `judge`     all checks on one frame, and which of them has the word
2. `material`  each picture opened and decoded once; `pair` registers a frame on its reference (`registration`)
3. `file`, `settings`                 is it whole, and taken as asked
4. `exposure`, `flash`                light against the reference, in stops (`light`)
5. `band`      the shutter's shadow: `band_reference`, `band_alone`, and `shadow` for how far it reaches
6. `focus`     the verdict; `focus_region` measures by `focus_measure`, `focus_map` tells where it went
7. `limits`    one table of what is compared with, with origins
8. `host`, `remote`   the judge's process, and what the controller sees of it

A check measures and then finds: its numbers are a value of their own, its findings are sentences about them.
To add one, write it beside its like, give it a limit with an origin, and call it in `judge`.
"""
