"""Pictures of the set beside the log: attached once, by number, deleted by number, and known when they were changed."""

from __future__ import annotations

import fcntl
import hashlib
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from session.frame.ports import LogError
from storage.files.set_pictures import (
    LOCK,
    MOST,
    attach_set_picture,
    remove_set_picture,
    set_pictures_folder,
    set_pictures_in,
    stored_set_pictures,
)

KEY = "0190c1f0-0000-7000-8000-000000000001"


def jpeg(number: int) -> bytes:
    return b"\xff\xd8\xff picture %d" % number


def test_pictures_are_numbered_and_a_number_is_not_given_again_while_later_ones_are_there(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    one, two, again = (attach_set_picture(log, KEY, jpeg(number)) for number in (1, 2, 1))
    assert (one.number, two.number, again) == (1, 2, one)
    assert one.path.name == f"01-{hashlib.sha256(jpeg(1)).hexdigest()[:16]}.jpg" and one.path.read_bytes() == jpeg(1)
    assert remove_set_picture(log, KEY, one.path.name) and not remove_set_picture(log, KEY, one.path.name)
    assert attach_set_picture(log, KEY, jpeg(3)).number == 3
    assert [picture.number for picture in stored_set_pictures(log, KEY)] == [2, 3]
    assert stored_set_pictures(log, KEY.replace("1", "2")) == ()


def test_a_changed_picture_is_known_and_attached_anew(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    first = attach_set_picture(log, KEY, jpeg(1))
    first.path.write_bytes(jpeg(1)[:-1])
    (first.path.parent / "notes.txt").write_text("of somebody")
    (first.path.parent / f"09-{'0' * 16}.jpg").symlink_to("/etc/passwd")
    assert [(one.number, one.whole) for one in stored_set_pictures(log, KEY)] == [(1, False)]
    assert attach_set_picture(log, KEY, jpeg(1)).number == 2


def test_there_are_as_many_as_a_card_takes(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    for number in range(MOST):
        attach_set_picture(log, KEY, jpeg(number))
    with pytest.raises(LogError, match=f"has {MOST} pictures already; remove one first"):
        attach_set_picture(log, KEY, jpeg(MOST))


@pytest.mark.parametrize("key", ["", "..", "../x", "a/b"])
def test_a_key_that_leads_elsewhere_has_no_pictures(tmp_path: Path, key: str) -> None:
    assert stored_set_pictures(tmp_path / "log.db", key) == ()
    with pytest.raises(LogError, match="attached to a set-up that is in the log, not to"):
        attach_set_picture(tmp_path / "log.db", key, jpeg(1))


def test_a_folder_that_leads_elsewhere_and_a_full_disk_are_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "log.db"
    set_pictures_folder(log).symlink_to(tmp_path)
    with pytest.raises(LogError, match=r"can't be stored in .*: it is a link\."):
        attach_set_picture(log, KEY, jpeg(1))
    set_pictures_folder(log).unlink()

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(LogError, match=r"can't be stored in .*: No space left on device\."):
        attach_set_picture(log, KEY, jpeg(1))
    assert list((set_pictures_folder(log) / KEY).iterdir()) == []


def test_two_who_attach_at_once_get_two_numbers(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    attach_set_picture(log, KEY, jpeg(0))
    with (set_pictures_folder(log) / LOCK).open("rb") as held, ThreadPoolExecutor(2) as both:
        fcntl.flock(held, fcntl.LOCK_EX)
        waiting = [both.submit(attach_set_picture, log, KEY, jpeg(number)) for number in (1, 2)]
        with pytest.raises(TimeoutError):
            waiting[0].result(timeout=0.05)
        assert len(stored_set_pictures(log, KEY)) == 1, "nobody numbers a picture while another does"
        fcntl.flock(held, fcntl.LOCK_UN)
        assert sorted(one.result().number for one in waiting) == [2, 3]


def test_a_number_of_any_length_is_listed(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    first = attach_set_picture(log, KEY, jpeg(1))
    first.path.rename(first.path.with_name(first.path.name.replace("01-", "999-")))
    assert attach_set_picture(log, KEY, jpeg(2)).number == 1000
    assert [one.number for one in stored_set_pictures(log, KEY)] == [999, 1000]


def test_a_folder_that_nobody_may_look_into_has_no_pictures(tmp_path: Path) -> None:
    """The name is longer than any system takes: like another user's folder, it is there for no question."""
    assert set_pictures_in(tmp_path / ("x" * 5000)) == ()


def test_a_log_that_is_opened_by_a_link_has_the_same_pictures(tmp_path: Path) -> None:
    (tmp_path / "studio").mkdir()
    log, link = tmp_path / "studio" / "log.db", tmp_path / "today.db"
    log.touch()
    link.symlink_to(log)
    attach_set_picture(link, KEY, jpeg(1))
    assert [one.path.parent.parent for one in stored_set_pictures(log, KEY)] == [set_pictures_folder(log)]
    assert set_pictures_folder(log).parent == log.parent
