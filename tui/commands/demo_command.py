"""`stillset demo`: an invented job on a simulated camera, at the bench or as a script."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

import click

from tui.shell.choices import Choices, json_option
from tui.shell.terminal import can_show_screens, say_opening


@click.command()
@click.option("--headless", is_flag=True, help="Play it as a script and print what was caught.")
@click.option("--seed", default=1, show_default=True, help="Seed of the simulated camera: same seed, same pictures.")
@click.option(
    "--keep",
    type=click.Path(path_type=Path, file_okay=False),
    default=None,
    help="Keep log and pictures in this folder; else they are thrown away.",
)
@json_option
def demo(headless: bool, seed: int, keep: Path | None, as_json: bool) -> None:
    """Play an invented job on a simulated camera: asks for nothing, needs no camera.

    At a terminal the bench opens with a running story; without one, or with --headless, a script plays it
    and the exit code is 0 only if each mishap was caught and no frame was lost.
    """
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        _play(keep.absolute(), seed, headless, as_json)
        return
    with tempfile.TemporaryDirectory(prefix="stillset-demo-", ignore_cleanup_errors=True) as folder:
        _play(Path(folder), seed, headless, as_json)


def _play(folder: Path, seed: int, headless: bool, as_json: bool) -> None:
    from tui.demo.simulated import DemoCamera  # noqa: PLC0415
    from tui.demo.story import (  # noqa: PLC0415
        BLUR_LIMIT_PX,
        CLIENT,
        JOB,
        LENS,
        MAGNIFICATION,
        PIECES,
        TOO_SHORT_S,
        key_light,
        region_of,
    )

    camera = DemoCamera(folder, ("--seed", str(seed), "--piece", PIECES[0][2], "--format", "raw+jpeg"))
    try:
        light = key_light()
        placed = {name: value for name, value in asdict(light).items() if name not in ("name", "shaper", "note")}
        choices = Choices(
            log=str(folder / "demo.db"),
            folder=folder / "pictures",
            camera=camera.address,
            job=JOB,
            client=CLIENT,
            piece=PIECES[0][0],
            view=PIECES[0][1],
            settings=(("exposure_s", TOO_SHORT_S), ("f_number", 11.0), ("iso", 100), ("file_format", "raw+jpeg")),
            lights=((light.name, {**placed, "shaper": light.shaper}),),
            lens=LENS,
            magnification=MAGNIFICATION,
            limits=(("blur_limit_px", BLUR_LIMIT_PX),),
            region=region_of(camera),
        )
        if headless or as_json or not (sys.stdin.isatty() and sys.stdout.isatty()):
            _script(choices, camera, as_json)
            return
        if not can_show_screens():
            raise click.UsageError(f"this terminal, {os.environ.get('TERM')}, can't show the bench; use --headless")
        say_opening("the demo's bench")
        from tui.app.run import run_bench  # noqa: PLC0415

        run_bench(choices, camera)
    finally:
        camera.close()


def _script(choices: Choices, camera: object, as_json: bool) -> None:
    from tui.demo.simulated import DemoCamera  # noqa: PLC0415
    from tui.demo.story import SCENES, perform  # noqa: PLC0415
    from tui.headless.headless_shoot import headless  # noqa: PLC0415
    from tui.shell.troubles import CommandFailed  # noqa: PLC0415

    assert isinstance(camera, DemoCamera)

    def say(text: str) -> None:
        click.echo(text, err=as_json)

    outcomes = []
    with headless(choices, say, telling=False) as run:
        run.connect()
        for scene in SCENES:
            perform(camera, scene)
            outcome = scene.play(run, camera, scene)
            outcomes.append(outcome)
            word = {True: "caught", False: "NOT CAUGHT", None: "done"}[outcome.caught]
            if not as_json:
                click.echo(f"{word:>10}  {outcome.did}\n{'':12}{outcome.said}")
        run.all_done()
        frames = list(run.open_shoot.reader.frames())
    lost = [row.number for row in frames if row.state != "logged"]
    mishaps = [outcome for outcome in outcomes if outcome.caught is not None]
    caught = [outcome for outcome in mishaps if outcome.caught]
    summary = {
        "frames": len(frames),
        "lost": lost,
        "mishaps": len(mishaps),
        "caught": len(caught),
        "scenes": [asdict(outcome) for outcome in outcomes],
    }
    if as_json:
        click.echo(json.dumps(summary, ensure_ascii=False))
    else:
        click.echo(
            f"{len(frames)} frames on 2 pieces, {len(lost)} lost; {len(caught)} of {len(mishaps)} mishaps caught. "
            "Everything in this job is invented."
        )
    if lost or len(caught) < len(mishaps):
        raise CommandFailed(
            f"The demo did not go as it should: {len(lost)} frames lost, {len(mishaps) - len(caught)} mishaps missed."
        )
