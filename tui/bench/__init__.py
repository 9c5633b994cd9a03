"""The screen beside the tripod."""
