"""The entry of the program, also as `python -m hotside.sim`: Ctrl-C while it is being loaded ends it without a traceback."""

import signal

from .garbage import seldom


def main() -> None:
    """Load the command line, then run it."""
    seldom()
    before = signal.getsignal(signal.SIGINT)
    if before is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from .cli import main as run

    signal.signal(signal.SIGINT, before)
    run()


if __name__ == "__main__":
    main()
