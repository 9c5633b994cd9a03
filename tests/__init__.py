"""The tests: each on its module's floor (`session`, `storage`, `tui`, `mock_camera`), of all parts at once (`whole`),
against published sources (`references`), how fast and how right (`benchmarks`), and what helps them (`support`).

A package, so that a helper is named `tests.support.NAME` by a test and by a process that a test starts.
"""
