"""The screen that plans lens and light before anything is moved."""
