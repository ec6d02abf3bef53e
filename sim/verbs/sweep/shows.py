"""Values of a dataset as a person reads them: kind, label, unit; which variables are worth showing first."""

from typing import TYPE_CHECKING

import numpy as np

from ...dotted import name_spec
from ...errors import CaseError
from ...names import RESULTS, kind_of, label_of
from ...showing import FAMILIES, Show
from .table_text import points_of

if TYPE_CHECKING:
    import xarray as xr

FIRST = (  # shown where nothing is asked for, as far as they are known and differ
    "power_w", "probe_reading_k", "backpressure_pa", "knock_margin_deg", "exhaust_temperature_k", "torque_nm", "boost_pa",
    "residual_fraction", "octane_required", "imep_net_pa",
)  # fmt: skip
OWN_LABELS = {"probe_reading_k": "exhaust probe reads", "limit_margin": "margin"}


def values(found: "xr.Dataset", name: str) -> "xr.DataArray":
    """A result at every point; of a value with more than one at a point (probes, cylinders) the greatest. Raises CaseError."""
    if name not in found.data_vars or found[name].dtype.kind not in "fi" or name == "status":
        known = ", ".join(n for n in FIRST if n in found.data_vars)
        raise CaseError(f"{name} is no result with numbers in this sweep; among those it has are {known}.")
    more = [d for d in found[name].dims if d not in points_of(found)]
    return found[name].max(more) if more else found[name]


def chosen(found: "xr.Dataset", wanted: list[str] | None, most: int) -> list[str]:
    """The results to show: those asked for, else the first few worth it."""
    if wanted:
        for name in wanted:
            values(found, name)
        return wanted
    have = [name for name in FIRST if name in found.data_vars]
    return [name for name in have if np.unique(_finite(values(found, name).values)).size > 1][:most] or have[:1]


def _finite(array: np.ndarray) -> np.ndarray:
    return array[np.isfinite(array)]


def label(name: str) -> str:
    """What the trade calls a result."""
    if name in OWN_LABELS or name in RESULTS:
        return OWN_LABELS.get(name) or label_of(name)
    group = next((g for g in ("cylinder", "probe") if name.startswith(f"{g}_")), None)
    return f"{label_of(name.removeprefix(f'{group}_'))}, {group}" if group else label_of(name)


def kind(name: str) -> str:
    """Kind of unit of a result or of a varied input."""
    return name_spec(name).kind if "." in name else kind_of(name)


def how(name: str, family: str) -> Show:
    """How a result or a varied input is printed."""
    k = kind(name)
    k = {
        "pressure_gauge": "pressure",
        "pressure_absolute": "pressure",
        "spark": "angle",
        "after_tdc": "angle",
        "event": "angle",
    }.get(k, k)
    return FAMILIES[family].get(k, Show("", 1.0, 0.0, 3))


def in_family(name: str, data: np.ndarray, family: str) -> np.ndarray:
    """Values in SI in the units of a family."""
    show = how(name, family)
    return (np.asarray(data, dtype=float) - show.offset) / show.factor


def titled(name: str, family: str) -> str:
    """A label with its unit."""
    text = name.rsplit(".", 1)[-1].replace("_", " ") if "." in name else label(name)
    unit = how(name, family).unit
    return f"{text} [{unit}]" if unit else text
