"""How a case ended, and what a user would not accept in that ending."""

import math
import signal
from contextlib import contextmanager

from hotside.sim import load, predict
from hotside.sim.errors import CaseError
from hotside.sim.steady import STATUS, SolveError

HANG = 120  # [s] a guard against a point that never ends, some hundred times what one takes
MOST_CYCLES = 3000  # no point may need more: every loop of the march has its limit
BOUNDS = {  # figures that cannot be, whatever the case
    "residual_fraction": (0.0, 1.0),
    "air_flow_kg_s": (0.0, 20.0),
    "fuel_flow_kg_s": (0.0, 3.0),
    "exhaust_temperature_k": (200.0, 3000.0),
    "peak_pressure_pa": (5e3, 1e8),
    "energy_unburned": (-1e-6, 1.07),  # vapour leaves, liquid came: an alcohol's heat of vaporisation is 6 % more
    "fmep_pa": (0.0, 1e7),
}
SHARES = ("wastegate_opening", "turbine_choked_share", "turbine_efficiency", "compressor_efficiency")


class Hang(Exception):
    """A call that did not come back."""


@contextmanager
def no_hang():
    """Break off what takes absurdly long, where the system can."""

    def stop(_number, _frame):
        raise Hang(f"no end after {HANG} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(HANG)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def one_sentence(text):
    """Whether a refusal is a sentence a person can read."""
    tidy = text.strip().endswith((".", ")", "?")) and "\n" not in text and "Traceback" not in text
    return tidy and 20 < len(text) < 600


def unfinite(value, name=""):
    """Dotted names of figures that are not finite, anywhere in a nested result."""
    if isinstance(value, dict):
        return [n for k, v in value.items() for n in unfinite(v, f"{name}.{k}")]
    if isinstance(value, list | tuple):
        return [n for i, v in enumerate(value) for n in unfinite(v, f"{name}.{i}")]
    return [name] if isinstance(value, float) and not math.isfinite(value) else []


def judge(source, **how):
    """(how it ended, complaints, the prediction or None) of a case file or dict; `how` goes to `predict`."""
    try:
        with no_hang():
            found = predict(load(source), **how)
    except CaseError as error:
        return "refused", [] if one_sentence(str(error)) else [f"refusal is no sentence: {error}"], None
    except SolveError as error:
        return "solve error", [] if one_sentence(str(error)) else [f"refusal is no sentence: {error}"], None
    except Exception as error:  # a traceback is just what is looked for
        return "traceback", [f"{type(error).__name__}: {error}"], None
    return found.status, complaints(found), found


def complaints(found):
    """What a user would not accept in a result."""
    wrong = [f"{name} is not finite" for name in unfinite(found.to_dict())]
    if found.status not in STATUS.values():
        wrong.append(f"unknown status {found.status}")
    if found.cycles > MOST_CYCLES:
        wrong.append(f"took {found.cycles} cycles")
    if found.status != "converged" and not found.warnings:
        wrong.append(f"{found.status} without a sentence")
    wrong += [f"no sentence: {text}" for text in found.warnings if not one_sentence(text)]
    if found.converged:
        wrong += [f"{n} = {getattr(found, n):.1e}" for n, most in BOOKS.items() if getattr(found, n) > most]
        wrong += impossible(found)
    return wrong


BOOKS = {"mass_closure": 1e-6, "energy_closure": 1e-3}


def impossible(found):
    """Figures that cannot be."""
    wrong = [
        f"{n} = {getattr(found, n):.4g}" for n, (low, high) in BOUNDS.items() if not low <= getattr(found, n) <= high
    ]
    for name in SHARES:
        value = getattr(found, name)
        if value is not None and not -1e-9 <= value <= 1.0 + 1e-9:
            wrong.append(f"{name} = {value:.4g}")
    return wrong
