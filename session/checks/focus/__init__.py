"""The focus check: region, measure, map and verdict."""
