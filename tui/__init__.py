"""Screens and the command line: puts the parts together and shows what `session` and `storage` say.

`__main__` the commands, loaded when asked for; `build` the one place that makes log, camera, judge and
controller; `headless` a shoot without a screen; `app`, `bench`, `ledger` the screens; `keys` the table of
keys that footer, help and README come from; `story` the demo's invented day at the table.
"""
