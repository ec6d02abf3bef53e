"""How often a process of ours looks for garbage: seldom, and not at its end."""

import atexit
import gc

SELDOM = 100_000  # objects more than were freed since it last looked; while kernels are compiled it is all there is [-]


def seldom() -> None:
    """Have this process look for garbage seldom, and not once more before it ends.

    Nearly all that is made while the library is loaded and kernels are compiled stays until the end. Looking through it again and
    again took an eighth of the first run ever, and once more at the end a fifth of a second of every run.
    """
    gc.set_threshold(SELDOM)
    atexit.register(gc.freeze)  # called last where registered first: what is flushed or joined at the end is, before
