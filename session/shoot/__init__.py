"""The controller: its state, releasing, changing the set-up, undo, recovery, the live stream."""
