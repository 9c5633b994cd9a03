"""Keys are UUIDs of version 7, as the standard library reads them, and grow with time."""

from __future__ import annotations

import time
import uuid

from session.units.ids import new_id


def test_a_key_is_what_rfc_9562_says_of_version_7() -> None:
    """Section 5.7: 48 bits of milliseconds since 1970, then version 7, then the variant 0b10."""
    before_ms = time.time_ns() // 1_000_000
    key = uuid.UUID(new_id())
    after_ms = time.time_ns() // 1_000_000
    assert key.version == 7 and key.variant == uuid.RFC_4122
    assert before_ms <= key.int >> 80 <= after_ms


def test_keys_are_all_different_and_in_the_order_of_their_making_as_text_too() -> None:
    keys = [new_id() for _ in range(2000)]
    assert len(set(keys)) == len(keys)
    assert keys == sorted(keys)
    assert all(key == str(uuid.UUID(key)) for key in keys)
