"""Where it runs away: the boost at which the turbine chokes and each more bar of boost costs twice what the first did."""

import itertools
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from ...case import Case
from ...map_edges import off_the_turbine_map
from ...names import label_of
from ...prediction import Prediction
from ...showing import shown
from ...steady import SolveError, predict
from .said import Said

FROM, STEP, MOST = 0.3e5, 0.15e5, 4.0e5  # boost swept [Pa]
TWICE = 2.0
CHOKED = 0.5  # share of the gas passed at the greatest flow
OVER = Said("nothing; the sweep ends there")


@dataclass(frozen=True)
class Runaway:
    """One boost sweep."""

    boost_pa: list[float]
    backpressure_pa: list[float]
    power_w: list[float]
    turbine_flow_kg_s: list[float]  # of the exhaust, what goes through the turbine
    choked_share: list[float]
    choke_boost_pa: float | None  # where half of the gas passes choked
    first_slope: float | None  # backpressure that a bar of boost costs at first, their ratio
    doubled_boost_pa: float | None  # where a bar more boost costs twice that
    left_map_boost_pa: float | None  # where the turbine's measured map or curve is first left, if it is
    stopped_boost_pa: float  # the sweep ended here
    ended_by: Said  # and this ended it
    first_limits: list[tuple[float, str]]  # boost at which each limit is first passed

    @property
    def stopped_by(self) -> str:
        """What ended the sweep, in metric units."""
        return self.ended_by.said()

    def to_dict(self) -> dict[str, Any]:
        """As plain tables."""
        plain = asdict(self) | {"stopped_by": self.stopped_by}
        del plain["ended_by"]
        return plain


def runaway(case: Case, say: Callable[[str], None] = lambda text: None) -> Runaway:
    """Raise the boost from mild until it is no longer reached, or 4 bar."""
    points: list[Prediction] = []
    limits: dict[str, float] = {}
    stopped = OVER
    boost = FROM
    while boost <= MOST + 1.0:
        try:
            found = predict(case.set_all({"wastegate.model": "boost", "run.boost": f"{boost} Pa"}))
        except SolveError as error:
            stopped = Said(str(error))
            break
        made = float(found.boost_pa or 0.0)
        if found.status == "boost over" and not points and made < MOST:
            boost += STEP * math.ceil((made - boost) / STEP + 1e-9)  # a small wastegate holds no less than this
            continue
        if not found.converged or not found.boost_reached or found.status != "converged":
            stopped = why(found)
            break
        say(shown(boost, "pressure", case.report.units))
        points.append(found)
        for row in found.margins:
            if row["exceeded"]:
                limits.setdefault(row["name"], boost)
        boost += STEP
    return _read(points, stopped, limits, _left(case, points))


def _through(found: Prediction) -> float:
    """Flow through the turbine: its share of the gas is its share of the pressure that stands over it and the wastegate."""
    own, beside = (float(p or 0.0) for p in (found.backpressure_turbine_pa, found.backpressure_wastegate_pa))
    return float(found.exhaust_flow_kg_s) * (own / (own + beside) if own + beside > 0.0 else 1.0)


def _left(case: Case, points: list[Prediction]) -> float | None:
    """Boost at which the turbine's measured map or curve is first left past its end."""
    for p in points:
        if any("mean expansion ratio" in text for text in off_the_turbine_map(case.turbine, vars(p))):
            return float(p.boost_pa or 0.0)
    return None


def why(found: Prediction) -> Said:
    """What ended a sweep of boost."""
    made = ((float(found.boost_pa or 0.0), "pressure"),)
    if found.status == "boost over":
        return Said("a wastegate too small for less: fully open it makes {}", made)
    if found.status != "boost short":
        ends = {"alternates": "goes to and fro between two answers", "not periodic": "does not come to rest"}
        return Said(f"a point that {ends.get(found.status, found.status)}")
    if found.choke_margin_fraction is not None and found.choke_margin_fraction < 0.0:
        return Said("the compressor, past its choke: the turbine cannot drive it beyond {}", made)
    if found.surge_margin_fraction is not None and found.surge_margin_fraction < 0.0:
        return Said("the turbine, which makes no more than {}, the compressor short of its surge line", made)
    return Said("the turbine, which makes no more than {} with the wastegate shut", made)


def crossing(x: list[float], y: list[float], level: float) -> float | None:
    """Where y first reaches a level, linear between points; None where it does not."""
    for i in range(1, len(x)):
        if y[i - 1] < level <= y[i]:
            return x[i - 1] + (level - y[i - 1]) / (y[i] - y[i - 1]) * (x[i] - x[i - 1])
    return x[0] if x and y[0] >= level else None


def _read(points: list[Prediction], stopped: Said, limits: dict[str, float], left: float | None) -> Runaway:
    boost = [float(p.boost_pa or 0.0) for p in points]
    back = [p.backpressure_pa for p in points]
    share = [float(p.turbine_choked_share or 0.0) for p in points]
    middle = [0.5 * (a + b) for a, b in itertools.pairwise(boost)]
    slope = [(back[i + 1] - back[i]) / (boost[i + 1] - boost[i]) for i in range(len(boost) - 1)]
    least = min(slope[:3]) if slope else 0.0
    doubled = crossing(middle, slope, TWICE * least) if least > 0.0 else None
    return Runaway(
        boost_pa=boost,
        backpressure_pa=back,
        power_w=[float(p.power_w) for p in points],
        turbine_flow_kg_s=[_through(p) for p in points],
        choked_share=share,
        choke_boost_pa=crossing(boost, share, CHOKED),
        first_slope=least or None,
        doubled_boost_pa=doubled,
        left_map_boost_pa=left,
        stopped_boost_pa=boost[-1] if boost else 0.0,
        ended_by=stopped,
        first_limits=sorted((at, label_of(name)) for name, at in limits.items()),
    )
