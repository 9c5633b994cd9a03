"""The focus series: planes, coverage by the frames so far, merged preview.

Read `series_plan`, then `series_check`, which calls the others.
"""
