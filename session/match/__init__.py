"""How near a set built again is to the set of before: what solo frames tell of each light, and of a mix of them."""
