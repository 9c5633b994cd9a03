"""A file as the wire carries it: whole in any slices, and short for as long as a scripted fault lasts."""

from pathlib import Path
from typing import cast

import pytest

from mock_camera.body.capture import Capture
from mock_camera.body.memory_card import StoredObject
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import Response
from mock_camera.wire.host import Host, Reply
from tests.support.bare_body import bare_body

CONTENT = bytes(range(256)) * 4


@pytest.fixture
def host(tmp_path: Path) -> Host:
    """A host that only reads: nothing is released or looked through."""
    return Host(bare_body(tmp_path), cast(Capture, None), cast(Viewfinder, None), ())


def saved(host: Host, number: int = 1) -> StoredObject:
    return host.body.card.save(number, ".JPG", CONTENT)


def in_slices(host: Host, item: StoredObject, slice_bytes: int) -> bytes:
    return b"".join(host.read(item, at, slice_bytes) for at in range(0, len(CONTENT), slice_bytes))


@pytest.mark.parametrize("slice_bytes", [1, 100, 1024, 5000])
def test_slices_add_up_to_the_file(host: Host, slice_bytes: int) -> None:
    assert in_slices(host, saved(host), slice_bytes) == CONTENT


@pytest.mark.parametrize(
    ("offset", "count", "got"), [(0, 0, 0), (1023, 10, 1), (1024, 10, 0), (9999, 10, 0), (1000, 24, 24)]
)
def test_nothing_comes_from_beyond_the_end(host: Host, offset: int, count: int, got: int) -> None:
    assert host.read(saved(host), offset, count) == CONTENT[offset : offset + count]
    assert len(CONTENT[offset : offset + count]) == got


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5])
def test_a_cut_transfer_ends_early_in_all_its_slices_and_the_next_one_is_whole(host: Host, share: float) -> None:
    item = saved(host)
    host.body.faults.add("truncated_file", where="transfer", share=share)
    assert in_slices(host, item, 100) == CONTENT[: round(share * len(CONTENT))]
    assert in_slices(host, item, 100) == CONTENT


def test_an_empty_transfer_leaves_the_file_on_the_card_whole(host: Host) -> None:
    item = saved(host)
    host.body.faults.add("empty_file", where="transfer")
    assert in_slices(host, item, 100) == b""
    assert item.path.read_bytes() == CONTENT
    assert in_slices(host, item, 5000) == CONTENT


def test_a_cut_counts_for_the_file_that_it_struck_only(host: Host) -> None:
    first, second = saved(host, 1), saved(host, 2)
    host.body.faults.add("truncated_file", where="transfer", share=0.5)
    assert len(host.read(first, 0, 5000)) == 512
    assert host.read(second, 0, 5000) == CONTENT
    assert host.read(first, 500, 5000) == CONTENT[500:512]  # the cut transfer goes on
    assert host.read(first, 0, 5000) == CONTENT


def test_a_fault_of_the_card_is_none_of_the_wire(host: Host) -> None:
    host.body.faults.add("truncated_file", where="card", share=0.5)
    item = saved(host)
    assert host.read(item, 0, 5000) == item.path.read_bytes()


def test_an_answer_without_data_has_no_data_phase() -> None:
    assert Reply() == Reply(Response.OK, (), None)
    assert Reply(data=b"") != Reply()
