"""What is not known of a spray: how much of its heat the charge gives before the inlet closes, and what hangs on it."""

from dataclasses import replace
from typing import Any

from ...case import Case
from ...errors import CaseError
from ...prediction import Prediction
from ...schema import places
from ...sections_injection import Injection

SHARE = "evaporation_share"


def banded(case: Case, found: Prediction) -> Prediction:
    """The prediction with its `spray_band`: readings at both ends of what injection.evaporation_share may be, and its own.

    As it is where nothing is sprayed in, or where the case states the share.
    """
    if case.injection is None or f"injection.{SHARE}" not in case.guesses or found.water_flow_kg_s is None:
        return found
    from ...steady import SolveError
    from ...steady import predict as solve

    here = case.injection.evaporation_share
    spec = next(spec for name, _, spec in places(Injection) if name == SHARE)
    assert spec is not None
    far = spec.half_width(here)
    rows = []
    for share in (round(max(here - far, 0.0), 4), here, round(min(here + far, 1.0), 4)):
        try:
            rows.append(_row(share, found if share == here else solve(case.set(f"injection.{SHARE}", share))))
        except (CaseError, SolveError):
            return found
    return replace(found, spray_band=rows)


def _row(share: float, p: Prediction) -> dict[str, Any]:
    probe = max((float(row["reading_k"]) for row in p.probes), default=None)
    return {
        SHARE: share,
        "air_flow_kg_s": p.air_flow_kg_s,
        "power_w": p.power_w,
        "knock_margin_deg": p.knock_margin_deg,
        "knock_margin_bad_cycle_deg": p.knock_margin_bad_cycle_deg,
        "hottest_probe_k": probe,
    }
