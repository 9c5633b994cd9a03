"""A module of ours, run as a process of its own, with a two-way pipe for messages.

The camera and the judge live in such processes: each may hang or be killed without the screen noticing more
than a message. The pipe is a socket pair, so that either side learns at once that the other is gone: the
parent by `ended`, the child by EOFError from `recv`, whereupon it finishes what it is writing and ends.
"""

from __future__ import annotations

import importlib.util
import os
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from multiprocessing.connection import Connection
from pathlib import Path

PIPE_VARIABLE = "STILLSET_PIPE"
"""Environment variable by which the child learns the number of its end of the pipe."""

ONE_THREAD = dict.fromkeys(
    ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"), "1"
)
"""The environment in which NumPy's matrix products run on one core. Ours are small: more threads nearly double the
processor time and win nothing, and screen, camera and judge are processes that want a core each."""

PATIENCE_S = 10.0
"""How long an ending child may take to finish a file under way; longer than a raw file takes by cable."""


def parent_connection() -> Connection:
    """The child's end of the pipe, called once in a process that `OwnProcess` started.

    Raises RuntimeError in a process that was started by hand.
    """
    number = os.environ.pop(PIPE_VARIABLE, None)
    if number is None:
        raise RuntimeError(f"this module serves another process and isn't started by hand: {PIPE_VARIABLE} is {number}")
    os.set_inheritable(int(number), False)
    return Connection(int(number))


def import_path(module: str) -> str:
    """PYTHONPATH with which another interpreter imports the same modules, whatever its working folder.

    Raises ModuleNotFoundError when `module` isn't found here.
    """
    package = importlib.util.find_spec(module.partition(".")[0])
    if package is None or package.origin is None:
        raise ModuleNotFoundError(f"no module named {module!r}", name=module)
    origin = Path(package.origin).absolute()
    root = str(origin.parent.parent if package.submodule_search_locations is not None else origin.parent)
    places = [place for place in sys.path if Path(place).is_absolute()]
    return os.pathsep.join(places if root in places else [root, *places])


class OwnProcess:
    """A module of ours run as a process of its own (`python -m MODULE …`), with a two-way message pipe.

    receive      called with each message of the child, on a thread of this object's own, in their order
    ended        called once on that thread, after the last message, with the return code; below zero it is
                 the number of the signal that ended it (-9 killed, -14 its own time limit)
    environment  laid over this process's own environment
    errors_path  a file to which what the child and its libraries print is added; dropped when left out,
                 for the screen belongs to the program
    """

    def __init__(
        self,
        module: str,
        *,
        receive: Callable[[object], None],
        ended: Callable[[int], None],
        arguments: Sequence[str] = (),
        environment: Mapping[str, str] | None = None,
        errors_path: str | None = None,
    ) -> None:
        """Start it. Raises OSError when the system can't, ModuleNotFoundError for an unknown module."""
        self._receive = receive
        self._ended = ended
        self._sending = threading.Lock()
        self._socket, theirs = socket.socketpair()
        self._connection = Connection(os.dup(self._socket.fileno()))
        with theirs:
            self._process = _start(module, arguments, environment or {}, errors_path, theirs.fileno())
        self.pid = self._process.pid
        self._reader = threading.Thread(target=self._read, name=f"reads {module}", daemon=True)
        self._reader.start()

    def send(self, message: object) -> None:
        """Hand a message to the child. Raises OSError when it is gone.

        Waits only when some 100 kB of messages are unread.
        """
        with self._sending:
            self._connection.send(message)

    @property
    def stands_still(self) -> bool:
        """Whether the child was stopped by a signal (SIGSTOP, a debugger): its own time limits stand still then too."""
        try:
            return os.waitid(os.P_PID, self.pid, os.WSTOPPED | os.WNOHANG | os.WNOWAIT) is not None
        except ChildProcessError:  # it has ended
            return False

    def kill(self) -> None:
        """End the child at once, whatever it is doing; `ended` follows."""
        self._process.kill()

    def close(self, patience_s: float = PATIENCE_S) -> None:
        """Let the process end by itself, its last messages still coming in; kill it after `patience_s` seconds."""
        self._hang_up()
        try:
            self._process.wait(patience_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
        if threading.current_thread() is not self._reader:
            self._reader.join()

    def _hang_up(self) -> None:
        try:
            self._socket.shutdown(socket.SHUT_WR)
        except OSError:  # it hung up first
            return

    def _read(self) -> None:
        try:
            while True:
                self._receive(self._connection.recv())
        except (EOFError, OSError):  # OSError: killed in the middle of a message
            self._hang_up()
        finally:
            self._finish()

    def _finish(self) -> None:
        try:
            code = self._process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:  # hung up, but doesn't end
            self._process.kill()
            code = self._process.wait()
        with self._sending:
            self._connection.close()
        self._socket.close()
        self._ended(code)


def _start(
    module: str,
    arguments: Sequence[str],
    environment: Mapping[str, str],
    errors_path: str | None,
    pipe: int,
) -> subprocess.Popen[bytes]:
    everything = os.environ | {"PYTHONPATH": import_path(module)} | dict(environment)
    with Path(errors_path or os.devnull).open("ab") as errors:
        return subprocess.Popen(
            # -P: a folder named like a package of ours in the working folder must not be imported instead
            [sys.executable, "-P", "-m", module, *arguments],
            stdin=subprocess.DEVNULL,  # libgphoto2 closes descriptor 0 on PTP/IP
            stdout=errors,
            stderr=errors,
            pass_fds=(pipe,),
            env=everything | {PIPE_VARIABLE: str(pipe)},
            start_new_session=True,  # Ctrl-C in the terminal is the program's to answer
        )
