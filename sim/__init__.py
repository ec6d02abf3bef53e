"""The running: case files, units, loops, solvers, results, reports, the command line.

`from hotside.sim import load, predict` is the public door. Each name is loaded when it is first asked for, so that
`import hotside.sim` costs nothing.
"""

import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .case import Case, load
    from .errors import CaseError
    from .steady import Prediction, predict
    from .verbs.burn.result import BurnResult
    from .verbs.burn.run import burn
    from .verbs.compare.result import CompareResult
    from .verbs.compare.run import compare
    from .verbs.curve.result import CurveResult
    from .verbs.curve.run import curve
    from .verbs.diagnose.few import Readings, diagnose_readings
    from .verbs.diagnose.result import Diagnosis
    from .verbs.diagnose.run import diagnose
    from .verbs.flange.result import FlangeResult
    from .verbs.flange.run import flange
    from .verbs.improve.result import ImproveResult
    from .verbs.improve.run import improve
    from .verbs.limits.result import LimitsResult
    from .verbs.limits.run import limits
    from .verbs.lookalikes.result import LookalikesResult
    from .verbs.lookalikes.run import lookalikes
    from .verbs.placement.result import PlacementResult
    from .verbs.placement.run import placement
    from .verbs.plan.result import PlanResult
    from .verbs.plan.run import plan
    from .verbs.pull.result import PullResult
    from .verbs.pull.run import pull
    from .verbs.spool.result import SpoolResult
    from .verbs.spool.run import spool
    from .verbs.sweep.run import sweep
    from .verbs.sweep.store import open_sweep
    from .verbs.uncertainty.result import UncertaintyResult
    from .verbs.uncertainty.run import uncertainty

DOORS = {
    "improve": "verbs.improve.run",
    "ImproveResult": "verbs.improve.result",
    "burn": "verbs.burn.run",
    "BurnResult": "verbs.burn.result",
    "curve": "verbs.curve.run",
    "CurveResult": "verbs.curve.result",
    "compare": "verbs.compare.run",
    "CompareResult": "verbs.compare.result",
    "diagnose": "verbs.diagnose.run",
    "Diagnosis": "verbs.diagnose.result",
    "diagnose_readings": "verbs.diagnose.few",
    "Readings": "verbs.diagnose.few",
    "flange": "verbs.flange.run",
    "FlangeResult": "verbs.flange.result",
    "limits": "verbs.limits.run",
    "LimitsResult": "verbs.limits.result",
    "lookalikes": "verbs.lookalikes.run",
    "LookalikesResult": "verbs.lookalikes.result",
    "placement": "verbs.placement.run",
    "PlacementResult": "verbs.placement.result",
    "plan": "verbs.plan.run",
    "PlanResult": "verbs.plan.result",
    "load": "case",
    "Case": "case",
    "CaseError": "errors",
    "open_sweep": "verbs.sweep.store",
    "predict": "steady",
    "Prediction": "steady",
    "pull": "verbs.pull.run",
    "PullResult": "verbs.pull.result",
    "spool": "verbs.spool.run",
    "SpoolResult": "verbs.spool.result",
    "sweep": "verbs.sweep.run",
    "uncertainty": "verbs.uncertainty.run",
    "UncertaintyResult": "verbs.uncertainty.result",
}
__all__ = [
    "BurnResult",
    "Case",
    "CaseError",
    "CompareResult",
    "CurveResult",
    "Diagnosis",
    "FlangeResult",
    "ImproveResult",
    "LimitsResult",
    "LookalikesResult",
    "PlacementResult",
    "PlanResult",
    "Prediction",
    "PullResult",
    "Readings",
    "SpoolResult",
    "UncertaintyResult",
    "burn",
    "compare",
    "curve",
    "diagnose",
    "diagnose_readings",
    "flange",
    "improve",
    "limits",
    "load",
    "lookalikes",
    "open_sweep",
    "placement",
    "plan",
    "predict",
    "pull",
    "spool",
    "sweep",
    "uncertainty",
]


def __getattr__(name: str) -> Any:
    if name not in DOORS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{DOORS[name]}", __name__), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


if "pdoc" in sys.modules:  # it documents what stands in the module and asks for nothing
    globals().update({name: __getattr__(name) for name in __all__})
