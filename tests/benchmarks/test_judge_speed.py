"""What a judgement of a 45-megapixel JPEG costs, against the plain script that decodes it all in colour and takes the
Laplacian's variance. Side by side in one run, best of several rounds, one thread each. Run with `-s`.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

import cv2
import numpy as np
import pytest
from made_pictures import coded, jpeg_bytes, photograph

from session.checks.focus_region import measure
from session.checks.host import RememberedReference
from session.checks.judge import judge
from session.checks.material import gather, pair
from session.ports import Assignment
from session.preview import decode, open_picture
from session.process import import_path
from session.setup import Arrangement, Region, Revision

WIDTH, HEIGHT = 8256, 5504
ROUNDS = 5
REGION = Region(0.4, 0.4, 0.2, 0.2)

MOST_OF_PLAIN = 0.5
"""What all checks together may take of the plain script's time."""

MOST_BYTES = 200 * 2**20


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A reference and a frame, quality 92, 4:2:2, some 15 to 25 MB; a photograph repeated, with fine noise."""
    tile = photograph("coffee.png", (1032, 688))
    folder, paths = tmp_path_factory.mktemp("large"), []
    for seed in (1, 2):
        codes = np.tile(coded(tile, noise_codes=2.5, seed=seed), (HEIGHT // 688, WIDTH // 1032))
        codes = np.stack([codes, np.roll(codes, 1, 1), np.roll(codes, 2, 0)], axis=2)
        paths.append(folder / f"{seed}.jpg")
        paths[-1].write_bytes(jpeg_bytes(codes, quality=92, subsampling=1))
    return paths[0], paths[1]


def best_s(act: Callable[[], object]) -> float:
    """CPU seconds of the best round."""
    taken = []
    for _ in range(ROUNDS):
        begun = process_time()
        act()
        taken.append(process_time() - begun)
    return min(taken)


def plain(path: Path) -> float:
    picture = cv2.imdecode(np.frombuffer(path.read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    return float(cv2.Laplacian(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), cv2.CV_64F).var())


def assignment(frame: Path, reference: Path) -> Assignment:
    revision = Revision(region=REGION, arrangement=Arrangement(magnification=0.5))
    return Assignment("f", str(frame), "jpeg", revision, {}, True, str(reference), 36.0, WIDTH)


@pytest.mark.timeout(1200)
def test_judgement_of_45_megapixels_costs_less_than_half_of_a_plain_script(pictures: tuple[Path, Path]) -> None:
    cv2.setNumThreads(1)
    reference, frame = pictures
    remembered = RememberedReference()
    source = open_picture(frame)
    both = pair(gather(str(frame)), remembered(str(reference)))
    script_s = best_s(lambda: plain(frame))
    parts = {
        "smallest decode, 1/8 grey": best_s(lambda: decode(source, reduce=8)),
        "overview, 1/8 colour, with Exif": best_s(lambda: gather(str(frame))),
        "focus of the region": best_s(lambda: measure(both, REGION, 2.0)),
        "all checks": best_s(lambda: judge(assignment(frame, reference), remembered)),
    }
    print(f"\n{frame.stat().st_size / 1e6:.1f} MB; plain script 1.00")
    for name, seconds in parts.items():
        print(f"{name:32} {seconds / script_s:.2f}")
    assert parts["all checks"] <= MOST_OF_PLAIN * script_s


def test_judgement_of_45_megapixels_needs_less_than_200_mb(pictures: tuple[Path, Path]) -> None:
    """Peak over that of an interpreter that has imported the same, in a process of its own."""
    code = (
        "import resource, sys\n"
        "from session.checks.judge import judge\n"
        "from session.ports import Assignment\n"
        "from session.setup import Arrangement, Region, Revision\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "revision = Revision(region=Region(0.4, 0.4, 0.2, 0.2), arrangement=Arrangement())\n"
        f"judge(Assignment('f', sys.argv[2], 'jpeg', revision, {{}}, True, sys.argv[1], 36.0, {WIDTH}))\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)\n"
    )
    found = subprocess.run(
        [sys.executable, "-P", "-c", code, *map(str, pictures)],
        env={"PYTHONPATH": import_path("session")},
        capture_output=True,
        text=True,
        check=True,
    )
    needed = int(found.stdout) * 1024
    print(f"\n{needed / 2**20:.0f} MB above the interpreter")
    assert needed <= MOST_BYTES
