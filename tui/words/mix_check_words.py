"""What is said of the frame that was shot at the powers of a mix."""

from __future__ import annotations

import math

from session.match.light_sum import DARK_SHARE, LightSum, Misfit, SeriesFinding
from session.match.mix_check import MixCheck
from tui.words.headline import Headline, Tone

HARDLY_EV = math.log2(DARK_SHARE)
"""A light that gave so much less than the mix has did not fire; one that gave more of it may be set too low."""

DOUBT = "The solos don't add up, so this may be wrong:"
AGAIN = "release again."


def mix_check_headline(found: MixCheck, number: int, *, fits: bool) -> Headline:
    """The large line on a frame compared with the mix: the light that is off, or `AS FORETOLD`.

    fits  whether the solos add up to all together; where they don't, no light is named as the one to change
    """
    large, text, to_do, tone = _outcome(found, number)
    if not fits:
        large, text, to_do, tone = "FORETOLD ?", f"{DOUBT} {text}", "Shoot the solos again to be sure.", Tone.CAUTION
    untold = f"{' and '.join(found.untold)}: too little of the light to be told." if found.untold else ""
    return Headline(large, " ".join(part for part in (text, to_do, untold) if part), tone)


def _outcome(found: MixCheck, number: int) -> tuple[str, str, str, Tone]:
    """The large line, what the frame came to, what the hands can do about it, and the tone."""
    frame, total = f"Frame {number}", found.sum
    if total.fits:
        text = f"{frame} is as foretold: within {abs(total.largest_ev):.2f} EV in each ninth of the picture."
        return "AS FORETOLD", text, "", Tone.GOOD
    if found.no_flash:
        text = f"Frame {number} shows hardly any light but ambient: no light fired."
        return "NO FLASH", text, f"Look at trigger and switches; {AGAIN}", Tone.STOP
    if found.as_before:
        return "FLASHES NOT SET", f"{frame} is as bright as before the mix{_or_exposure(found)}.", _set_now(), Tone.STOP
    finding = total.findings[0]
    if finding.kind in (Misfit.POWER, Misfit.ABSENT) and finding.names:
        return *_light_told(found, finding, number), Tone.STOP
    return _misfit_told(total, finding, number)


def _set_now() -> str:
    return f"Set the powers of the mix on the flashes; {AGAIN}"


def _or_exposure(found: MixCheck) -> str:
    """All lights changed alike look as another exposure does."""
    names = {light.name for light in found.sum.lights} | set(found.untold)
    changes = [found.changes_ev.get(name, 0.0) for name in names]
    if not changes or max(changes) - min(changes) > 0.05:
        return ""
    return ", unless exposure time, aperture or ISO was changed"


def _light_told(found: MixCheck, finding: SeriesFinding, number: int) -> tuple[str, str, str]:
    name, ev = finding.names[0], finding.amount
    much, way = f"{abs(ev):.1f} EV", "more" if ev > 0 else "less"
    large, text = f"{name.upper()} {much} {way.upper()}", f"{name} gave {much} {way} in frame {number} than the mix has"
    if found.has_power_of_before(name, ev):
        return large, f"{text}: it has the power of before.", f"Set it; {AGAIN}"
    if finding.kind is Misfit.POWER:
        return large, f"{text}.", f"Look at its power, and {AGAIN}"
    if ev > HARDLY_EV:
        return large, f"{text}.", f"Look at its power, and whether it fires; {AGAIN}"
    text = f"{name} did not fire in frame {number}."
    return f"{name.upper()} MISSING", text, f"Look at its switch, trigger and charge; {AGAIN}"


def _misfit_told(total: LightSum, finding: SeriesFinding, number: int) -> tuple[str, str, str, Tone]:
    """What no single light explains."""
    frame, ev, tone = f"Frame {number}", finding.amount, Tone.STOP
    most = f"{max(abs(total.largest_ev), 0.0 if math.isnan(ev) else abs(ev)):.1f} EV"
    large = "NOT AS FORETOLD"
    match finding.kind:
        case Misfit.POWER:
            large = "A LIGHT DIFFERS"
            text = f"{frame} isn't as foretold: a light, or all of them, gave another power; which, can't be told."
            to_do = f"Look at the power of each; {AGAIN}"
        case Misfit.EXPOSURE:
            way = "brighter" if ev > 0 else "darker"
            large = f"{abs(ev):.1f} EV {way.upper()}"
            text = f"{frame} is {abs(ev):.1f} EV {way} all over than foretold."
            to_do = f"Look at the power of all lights, and at exposure time, aperture and ISO; {AGAIN}"
        case Misfit.MOVED:
            large, to_do = "PICTURE MOVED", "Shoot the solos again to mix."
            text = f"{frame} lies {ev:.1f} px off the solos: camera or piece moved since."
        case Misfit.ELSEWHERE if not total.changed and abs(total.largest_ev) < 2 * ev:  # no power was fitted away
            text = f"{frame} is up to {most} off in a part of the picture, by no light's power."
            to_do = "Was a light, reflector or flag moved, or ambient changed?"
        case Misfit.ELSEWHERE | Misfit.SEVERAL:
            text = f"{frame} is up to {most} off in a part of the picture; by which light's power, can't be told."
            to_do = f"Look at the power of each light, and whether one was moved or ambient changed; {AGAIN}"
        case _:
            large, to_do, tone = "FORETOLD ?", "", Tone.CAUTION
            why = "more than half of the picture is burnt; give less light"
            if finding.names:
                why = f"too little of {' and '.join(finding.names)} shows"
            text = f"Can't tell whether frame {number} is as foretold: {why}."
    return large, text, to_do, tone
