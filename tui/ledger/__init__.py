"""The screen that looks back."""
