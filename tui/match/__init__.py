"""The screen on which an old set-up is built again, step by step, beside its reference."""
