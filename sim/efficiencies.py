"""Whether the factors on turbine and compressor leave efficiencies that can be: none gives more, or asks less, than the ideal machine."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .case import Case
    from .sections import Sections

SCALES = ("turbine.efficiency_scale", "compressor.efficiency_scale")


def problems(case: "Sections") -> Iterator[str]:
    """A sentence for each factor that lifts an efficiency past 1; the stand-ins filled in."""
    for name in SCALES:
        best, scale = best_of(case, name), getattr(getattr(case, name.split(".")[0]), "efficiency_scale", 0.0)
        if best * scale > 1.0:
            yield (
                f"{name} = {scale:g} lifts an efficiency of {best:.3g} past 1, which no machine has: its work would be more "
                f"than the gas can give or less than the air must take; write at most {most(case, name):.3f}."
            )


def most(case: "Case | Sections", name: str) -> float:
    """The greatest factor under this name that leaves no efficiency past 1 [-]."""
    best = best_of(case, name)
    return 1.0 / best if best > 0.0 else float("inf")


def best_of(case: "Case | Sections", name: str) -> float:
    """The greatest efficiency that the factor of this name multiplies; 0 on a bench [-]."""
    machine = getattr(case, name.split(".")[0])
    if machine is None:
        return 0.0
    if machine.model == "map" and machine.map is not None:
        return max(float(point[3]) for point in machine.map[2])
    return float(machine.efficiency if machine.model == "constant" else machine.efficiency_peak)
