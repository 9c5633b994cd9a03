"""A child for the tests of `session.system.process`: answers each message, and does as some of them ask."""

from __future__ import annotations

import os
import signal
import sys

from session.system.process import parent_connection


def main() -> None:
    pipe = parent_connection()
    pipe.send(("started", sys.argv[1:], os.getsid(0) == os.getpid(), os.environ.get("COLOUR", "")))
    while True:
        try:
            message = pipe.recv()
        except EOFError:
            pipe.send("finished what was under way")
            return
        if message == "hang":
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGTERM})
            signal.pause()
        if message == "print":
            print("a library talks", flush=True)
        if message == "read the terminal":
            pipe.send(sys.stdin.read())
        if message == "alarm":
            signal.setitimer(signal.ITIMER_REAL, 1e-3)
            signal.pause()
        pipe.send(("echo", message))


if __name__ == "__main__":
    main()
