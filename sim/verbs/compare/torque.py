"""At equal torque: the boost at which a rival gives the torque of another, and what every gauge reads there.

At equal boost a freer housing also gives more torque. Asked for the same pull instead, it needs less boost: what is compared is
then the price of one and the same work.
"""

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from ...case import Case
from ...prediction import Prediction
from ...steady import SolveError, predict
from .said import Said

Better = Callable[[str, list[float | None], list[str], int], str | None]
LEAST, MOST = 0.0, 4.0e5  # boost in which it is looked for [Pa]
NEAR = 1e-5  # of the torque asked for
TRIES = 30
READ = {  # result -> which way is better; 0 where it depends
    "boost_pa": -1, "backpressure_ratio": -1, "pressure_ratio_exhaust_intake": -1, "exhaust_temperature_k": -1,
    "residual_fraction": -1, "knock_margin_deg": 1, "wastegate_opening": 0, "bsfc_kg_j": -1,
}  # fmt: skip


@dataclass(frozen=True)
class EqualTorque:
    """What the rivals read where each gives the torque of the first."""

    torque_nm: float
    point: dict[str, list[float | None]]  # result -> its value for each rival; none where it does not give the torque
    better: dict[str, str | None]  # result -> name of the better; none where it is a draw or depends
    out_of_reach: dict[str, Said]  # rival that does not give the torque -> why

    def missing(self, family: str = "metric") -> list[str]:
        """A sentence for each rival that does not give the torque."""
        return [f"{name}: {why.said(family)}." for name, why in self.out_of_reach.items()]

    def to_dict(self) -> dict[str, Any]:
        """As plain tables."""
        plain = asdict(self) | {"missing": self.missing()}
        del plain["out_of_reach"]
        return plain


def at_torque(case: Case, torque: float) -> Prediction | Said:
    """The case at the boost that gives a brake torque; or a clause, why there is none.

    case : Case with a turbo; spark and mixture stay, its wastegate is taken to follow the boost
    torque : brake torque, above 0 [Nm]
    Torque goes nearly in a straight line with boost: secants, kept between what is known to be too little and too much.
    """
    tried: list[tuple[float, float]] = []  # boost [Pa], torque above the one asked for [Nm]
    boost = float(case.run.boost or 1e5)
    for _ in range(TRIES):
        found = _at(case, boost)
        if isinstance(found, Said):
            return found
        made, off = float(found.boost_pa or 0.0), found.torque_nm - torque
        if abs(off) <= NEAR * torque:
            return found
        if (found.status == "boost short" and off < 0.0) or (found.status == "boost over" and off > 0.0):
            return _stopped(found)
        tried.append((made, off))
        boost = _next(tried, found, torque)
    return Said("no boost up to {} gives {}", ((MOST, "pressure"), (torque, "torque")))


def _stopped(found: Prediction) -> Said:
    how = "at most" if found.status == "boost short" else "at least, its wastegate fully open,"
    made = ((float(found.boost_pa or 0.0), "pressure"), (found.torque_nm, "torque"))
    return Said(f"it makes {how} {{}} here, which gives {{}}", made)


def _next(tried: list[tuple[float, float]], found: Prediction, torque: float) -> float:
    """The next boost to try [Pa]."""
    low = max((x for x, off in tried if off < 0.0), default=LEAST)
    high = min((x for x, off in tried if off > 0.0), default=MOST)
    if len(tried) == 1:  # torque goes nearly as the absolute pressure in the manifold
        inside, made = found.intake_pressure_pa, tried[0][0]
        guess = made + inside * (torque / found.torque_nm - 1.0) if found.torque_nm > 0.0 else high
    else:
        (a, off_a), (b, off_b) = sorted(tried, key=lambda one: abs(one[1]))[:2]
        guess = a - off_a * (b - a) / (off_b - off_a) if off_b != off_a else low
    return guess if low < guess < high else 0.5 * (low + high)


def _at(case: Case, boost: float) -> Prediction | Said:
    try:
        found = predict(case.set_all({"wastegate.model": "boost", "run.boost": f"{boost!r} Pa"}))
    except SolveError as error:
        return Said(str(error).rstrip("."))
    known = ("converged", "boost short", "boost over")
    return found if found.status in known else Said(f"the point at {{}} is {found.status}", ((boost, "pressure"),))


def equal_torque(rivals: Mapping[str, Case], torque: float, better: Better) -> EqualTorque | None:
    """All rivals at one torque; none where the engine gives no torque there.

    rivals : name -> Case
    torque : brake torque [Nm]
    better : names the better rival from a result's name, its values, the rivals' names and which way is better
    """
    if torque <= 0.0:
        return None
    found = {name: at_torque(case, torque) for name, case in rivals.items()}
    point = {key: [None if isinstance(p, Said) else getattr(p, key) for p in found.values()] for key in READ}
    names = list(rivals)
    return EqualTorque(
        torque_nm=torque,
        point=point,
        better={key: better(key, values, names, READ[key]) for key, values in point.items()},
        out_of_reach={name: p for name, p in found.items() if isinstance(p, Said)},
    )
