"""The cautions that belong to what stands in a set."""

from dataclasses import replace

from session.set.set_cautions import set_cautions
from session.set.setup import PassiveItem, PlacedLight, Revision

OLD = Revision(lights=(PlacedLight("key", -2.0),), passive=(PassiveItem("plate", "2 mm glass"),))


def test_cautions_belong_to_what_stands_in_the_set():
    assert any("Plates" in caution for caution in set_cautions(OLD))
    assert not any("Plates" in caution for caution in set_cautions(replace(OLD, passive=())))
    assert set_cautions(replace(OLD, passive=(), lights=())) == ()
    assert "manual" in set_cautions(OLD)[-1]
