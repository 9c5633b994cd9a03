"""The checks that compare a frame with what the client agreed for its view.

Read `standard_verdict` (what is compared, and the sentences), then `piece_on_ground` (what the picture alone tells of
piece, ground and shadow).
"""
