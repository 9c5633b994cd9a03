"""The meanings of libgphoto2's result codes in our words; no other module translates the codes.

A code tells what went wrong inside the library, not what it means for the frame: whether the shutter went is
added where it is known. After the codes in `LINK_CODES` the connection can't be trusted: after a time-out the
camera's answers stay out of step with the questions, and after a broken link every call fails in its own way.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.camera_messages import CardObject, Fault, Fired


@dataclass(frozen=True)
class Meaning:
    """A fault and one sentence that a photographer understands."""

    fault: Fault
    text: str


MEANINGS: dict[int, Meaning] = {
    -1: Meaning(Fault.BROKEN, "The camera gave an error without a reason."),
    -2: Meaning(Fault.REFUSED, "The camera does not take that."),
    -3: Meaning(Fault.BROKEN, "The computer has too little memory for the camera's answer."),
    -4: Meaning(Fault.BROKEN, "A part of libgphoto2 is missing; install it again."),
    -5: Meaning(Fault.NOT_FOUND, "There is no camera at that address."),
    -6: Meaning(Fault.NOT_OFFERED, "This camera does not offer that."),
    -7: Meaning(Fault.LOST, "The connection to the camera is lost."),
    -8: Meaning(Fault.BROKEN, "The camera's answer is larger than libgphoto2 can take."),
    -10: Meaning(Fault.NO_ANSWER, "The camera does not answer."),
    -20: Meaning(Fault.NOT_OFFERED, "Cameras on a serial port are not supported here."),
    -21: Meaning(Fault.NOT_OFFERED, "Cameras on USB are not supported here."),
    -31: Meaning(Fault.LOST, "The connection to the camera can't be opened."),
    -34: Meaning(Fault.LOST, "Nothing can be read from the camera; the connection is lost."),
    -35: Meaning(Fault.LOST, "Nothing can be sent to the camera; the connection is lost."),
    -37: Meaning(Fault.LOST, "The camera's port does not take its settings."),
    -41: Meaning(Fault.BROKEN, "The serial port does not take its speed."),
    -51: Meaning(Fault.LOST, "The camera's USB connection stands still."),
    -52: Meaning(Fault.NOT_FOUND, "The camera is not on USB any more."),
    -53: Meaning(Fault.IN_USE, "Another program has the camera; close it or unmount the camera."),
    -60: Meaning(Fault.IN_USE, "Another program has locked the camera's port."),
    -70: Meaning(Fault.BROKEN, "The system's list of devices can't be read."),
    -102: Meaning(Fault.BAD_FILE, "What came from the camera is damaged."),
    -103: Meaning(Fault.REFUSED, "The camera has a file of that name already."),
    -105: Meaning(Fault.NOT_FOUND, "No camera was found there, or none that libgphoto2 knows."),
    -107: Meaning(Fault.NOT_FOUND, "That folder is not on the card."),
    -108: Meaning(Fault.NOT_FOUND, "That file is not on the card."),
    -109: Meaning(Fault.REFUSED, "The camera has a folder of that name already."),
    -110: Meaning(Fault.BUSY, "The camera is busy."),
    -111: Meaning(Fault.BROKEN, "The path to a file on the card is not whole."),
    -112: Meaning(Fault.REFUSED, "The camera called it off."),
    -113: Meaning(Fault.REFUSED, "The camera could not do it."),
    -114: Meaning(Fault.LOST, "The system could not reach the camera."),
    -115: Meaning(Fault.CARD_FULL, "The card is full."),
}
"""Every code that libgphoto2 2.5.34 and its port library define."""

LINK_CODES = frozenset({-1, -7, -10, -31, -34, -35, -37, -51, -52, -114})
"""After these the link is broken or out of step; after -1 only perhaps: the next call tells."""


def meaning(code: int) -> Meaning:
    """The meaning of a libgphoto2 result below zero; an unknown result is told by its number."""
    return MEANINGS.get(code) or Meaning(Fault.BROKEN, f"The camera gave error {code}, which nobody has explained.")


class CameraError(RuntimeError):
    """Something that could not be done, the camera's or the cable's fault.

    fault, text   what went wrong, one sentence
    code          libgphoto2's result, 0 when the error is not the library's
    fired         whether the shutter went
    missing       card objects that are known but not saved
    connected     False when the camera must be connected again
    """

    def __init__(
        self,
        fault: Fault,
        text: str,
        *,
        code: int = 0,
        fired: Fired = Fired.NO,
        missing: tuple[CardObject, ...] = (),
        connected: bool = True,
    ) -> None:
        super().__init__(text)
        self.fault = fault
        self.text = text
        self.code = code
        self.fired = fired
        self.missing = missing
        self.connected = connected

    @classmethod
    def of_code(cls, code: int) -> CameraError:
        """The error for a libgphoto2 result below zero."""
        known = meaning(code)
        return cls(known.fault, known.text, code=code)

    def but(
        self,
        *,
        fault: Fault | None = None,
        text: str | None = None,
        fired: Fired | None = None,
        missing: tuple[CardObject, ...] | None = None,
        connected: bool | None = None,
    ) -> CameraError:
        """The error with more facts that became known."""
        return CameraError(
            fault or self.fault,
            text or self.text,
            code=self.code,
            fired=fired or self.fired,
            missing=self.missing if missing is None else missing,
            connected=self.connected if connected is None else connected,
        )
