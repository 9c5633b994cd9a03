"""The focus series: its planes, what each frame made sharp, a preview of the whole.

Read `series_plan`, then `series_check`, which calls the others.
"""
