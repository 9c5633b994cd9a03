"""The camera's body: shutter, card, clock, properties, faults."""
