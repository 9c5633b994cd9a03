"""The hand-over: what leaves the table as one folder with hashes.

Read `handover_plan` first (which frames, under which names, and what is wrong with them, before anything is written),
then `hand_over` (the plan carried out, resumable), `sidecar` (XMP beside each picture), `tables` (and `table_schema`:
what their lines hold), `bag` (the folder's hashes, RFC 8493, written and verified), and `zipped` (it as one file).
"""
