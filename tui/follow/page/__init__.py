"""The tablet page: the newest frame in a browser, from one small server for all who look on.

`page_address` (where it is served, and for whom) → `guard` (who gets in) → `routes` (what can be asked for) →
`watching` (what the log says now) and `page_pictures` (JPEGs cut for a tablet) → `shown` (the words).
`server` puts them on a wire with limits.
"""
