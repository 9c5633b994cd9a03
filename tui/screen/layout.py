"""The sizes from which screens show more, and the interval at which screens look for news."""

WIDE_COLUMNS, TALL_ROWS = 120, 36
"""From there on lights, findings and ledger stand in full, and the large line has twice the size."""

LOOKS_EVERY_S = 0.5
"""How often a screen looks round. Hints and fading sentences may come a moment late; for somebody who looks up when the
flash goes it is soon enough; a look at an unchanged log is two calls of `stat`."""
