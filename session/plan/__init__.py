"""The planner: what to put up for a piece, before anything is moved. Pure values, no files, no clock.

In reading order: `wish` (what is wanted; `ordered_wish` by an order), `arrangements` (every way the kit can be put
together), `mounting` (one of them focused), `stops` (blur, depth and frames at every marked f-number), `room` (what
must fit before the lens), `light` (power, distance and exposure time), `waits` (how long a support takes to settle),
`criteria` (what is asked, in stops), `ranked_plan` (one arrangement with its best stop, and its rank), `ranking` (which
goes first), `best_stop` (how it is found), `kit_search` (all of them, ranked with reasons), `nearest_wish` (what to
give up where none meets the wish), `report` (its numbers), `planned_revision` (the chosen one as a set-up).

A screen keeps a `Wish`, replaces one field at a key, and calls `kit_search.ranked` again: it answers for a whole
kit between two paints. Distances count from the plane of focus towards the camera, mm.
"""
