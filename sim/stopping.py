"""Ctrl-C: one sentence and status 130, mostly within a second (an import that lets nothing else run ends without the sentence); what is kept so far stays kept.

The interrupt climbs through the work as usual, so that files are closed and kept work is named. Where it cannot get out, because
threads are being waited for or foreign code has swallowed it, the program ends all the same when `GRACE` is over.
"""

import atexit
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NoReturn

INTERRUPTED = 130  # exit status of a program ended by Ctrl-C
GRACE = 0.7  # seconds to close files and say what is kept
_pressed = threading.Event()
_ending = threading.Lock()
_said: list[bool] = []


@contextmanager
def stoppable() -> Iterator[None]:
    """Within it Ctrl-C ends the program; nothing is changed where somebody else handles it already."""
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _stop)
    try:
        yield
    finally:  # whatever the interrupt has become on its way here
        if _pressed.is_set():
            end(tidy=True)
        signal.signal(signal.SIGINT, signal.default_int_handler)


@contextmanager
def at_once() -> Iterator[None]:
    """Within it Ctrl-C ends the program in that moment and without a word: for foreign code that lets nothing else run for seconds.

    Nothing may be open that must be closed. Only the main thread can ask for it; elsewhere nothing is changed.
    """
    ours = threading.current_thread() is threading.main_thread() and signal.getsignal(signal.SIGINT) is _stop
    if ours:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        yield
    finally:
        if ours:
            signal.signal(signal.SIGINT, _stop)


def end(tidy: bool) -> NoReturn:
    """End the program without waiting for its threads; worker processes end with it.

    tidy : let the libraries clear up, which may take its time
    """
    with _ending:
        if not _said:
            _said.append(True)
            print("hotside: stopped.", file=sys.stderr, flush=True)
    if "multiprocessing" in sys.modules:
        for child in sys.modules["multiprocessing"].active_children():
            child.terminate()
    if tidy:
        atexit._run_exitfuncs()
    os._exit(INTERRUPTED)


def _stop(number: int, frame: Any) -> NoReturn:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _pressed.set()
    sys.unraisablehook = lambda *_: None  # what was half made complains when it is thrown away
    threading.Thread(target=_late, daemon=True).start()
    raise KeyboardInterrupt


def _late() -> NoReturn:
    time.sleep(GRACE)
    end(tidy=False)
