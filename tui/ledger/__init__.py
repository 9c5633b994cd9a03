"""The ledger: the screen of the frames taken so far."""
