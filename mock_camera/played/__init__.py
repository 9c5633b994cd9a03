"""A body out of a list of its properties: what its extension needs to be connected, set and released."""
