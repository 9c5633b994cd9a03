"""What is to go: decided from the frames of each view, by the checks and by the photographer's marks."""

from __future__ import annotations

import pytest

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState, Mark
from session.order.client_order import Order, OrderedPiece
from session.order.order_progress import Progress, ShotFrame, ViewProgress

RINGS = tuple(OrderedPiece(f"ring {number}", views=("front", "top")) for number in (1, 2, 3))


def shot(number: int = 1, **changes: object) -> ShotFrame:
    whole = {
        "state": FrameState.LOGGED,
        "mark": None,
        "focus_verdict": FocusVerdict.SHARP,
        "verdict": Verdict.CLEAN,
        "measures_light": False,
    }
    return ShotFrame(number, **(whole | changes))  # type: ignore[arg-type]


def progress(done: set[tuple[int, str]]) -> Progress:
    views = tuple(
        ViewProgress(ring, view, (shot(),) if (number, view) in done else ())
        for number, ring in enumerate(RINGS, 1)
        for view in ring.views
    )
    return Progress(Order("spring line", pieces=RINGS), views)


@pytest.mark.parametrize(
    ("frame", "good"),
    [
        (shot(), True),
        (shot(state=FrameState.SAVED, focus_verdict=None, verdict=None), True),
        (shot(focus_verdict=FocusVerdict.UNJUDGED), True),
        (shot(focus_verdict=FocusVerdict.SOFT), False),
        (shot(focus_verdict=FocusVerdict.MISSED), False),
        (shot(verdict=Verdict.FLAWED), False),
        (shot(verdict=Verdict.FLAWED, focus_verdict=FocusVerdict.MISSED, mark="hero"), True),
        (shot(focus_verdict=FocusVerdict.SOFT, mark="select"), True),
        (shot(mark="kill"), False),
        (shot(measures_light=True), False),
        (shot(measures_light=True, mark="hero"), False),
        (shot(state=FrameState.MISSING), False),
        (shot(state=FrameState.MISSING, mark="hero"), False),
        (shot(state=FrameState.NOT_FIRED), False),
    ],
)
def test_a_view_is_done_by_a_good_frame(frame: ShotFrame, good: bool) -> None:
    assert frame.is_good is good
    assert ViewProgress(RINGS[0], "front", (shot(mark="kill"), frame)).is_done is good


def test_the_next_view_to_go_follows_this_one_and_goes_round() -> None:
    some = progress({(1, "front"), (2, "front"), (3, "top")})
    assert [(one.piece.name, one.view) for one in some.to_go] == [
        ("ring 1", "top"),
        ("ring 2", "top"),
        ("ring 3", "front"),
    ]
    chain, here = [], ("ring 1", "front")
    for _ in range(4):
        after = some.next_to_go(*here)
        assert after is not None
        here = (after.piece.name, after.view)
        chain.append(here)
    assert chain == [("ring 1", "top"), ("ring 2", "top"), ("ring 3", "front"), ("ring 1", "top")]
    assert some.next_to_go("no such piece", "front") == some.to_go[0]


def test_there_is_no_other_view_to_go_when_only_this_one_is() -> None:
    almost = progress({(n, view) for n in (1, 2, 3) for view in ("front", "top")} - {(2, "top")})
    assert almost.next_to_go("ring 2", "top") is None
    assert almost.next_to_go("RING 2", "front") == almost.to_go[0]


def test_views_that_are_not_wanted_any_more_are_not_to_go() -> None:
    gone = Progress(Order("j", pieces=RINGS), (ViewProgress(RINGS[0], "front", (), wanted=False),))
    assert gone.to_go == ()
    assert gone.next_to_go("ring 1", "top") is None


def test_a_piece_has_its_place_in_the_order() -> None:
    assert progress(set()).piece_number("Ring 2") == 2
    assert progress(set()).piece_number("brooch") is None


@pytest.mark.parametrize(
    ("changes", "not_judged"),
    [
        ({"focus_verdict": None}, (1,)),
        ({"focus_verdict": FocusVerdict.UNJUDGED}, (1,)),
        ({}, ()),
        ({"focus_verdict": FocusVerdict.SOFT}, ()),
        ({"focus_verdict": None, "is_reference": True}, ()),
        ({"focus_verdict": None, "measures_light": True}, ()),
        ({"focus_verdict": FocusVerdict.UNJUDGED, "is_plane": True}, ()),
        ({"focus_verdict": None, "mark": Mark.SELECT}, ()),
    ],
)
def test_heroes_whose_focus_somebody_has_to_look_at(changes: dict[str, object], not_judged: tuple[int, ...]) -> None:
    """Frames that measure light and planes of a series are no pictures by themselves."""
    view = ViewProgress(RINGS[0], "front", (shot(1, **({"mark": Mark.HERO} | changes)),))
    assert view.heroes_not_judged == not_judged
