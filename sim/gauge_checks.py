"""What in the gauges, fittings and the pull of a case contradicts itself, each in one sentence."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from . import units
from .standins import collector_diameter, runner_diameter

if TYPE_CHECKING:
    from .sections import Sections


def problems(case: "Sections") -> list[str]:
    """One sentence for each contradiction, before stand-ins are filled in."""
    return [*_fittings(case), *_reach(case), *_pull(case)]


def _fittings(case: "Sections") -> Iterator[str]:
    n = case.engine.cylinders
    for k, fitting in enumerate(case.fitting, 1):
        if isinstance(fitting.place, int) and not 1 <= fitting.place <= n:
            yield f"fitting.{k}.place = {fitting.place} is not in this engine; write 1 to {n}, or the name of a part."
        if fitting.wall is not None and fitting.path == "metal" and 2.0 * fitting.wall > fitting.diameter:
            yield (
                f"fitting.{k}.wall = {1e3 * fitting.wall:g} mm leaves no bore in {1e3 * fitting.diameter:g} mm of diameter; leave "
                "it out for a rod."
            )
    if case.fitting and case.turbine is None:
        yield "fitting.1 stands near a manifold, and a bench case has none; leave the [[fitting]] out."


def _pull(case: "Sections") -> Iterator[str]:
    if case.pull is None:
        return
    given, pull = case.pull.model_fields_set, case.pull
    begins = pull.begins if "begins" in given else 0.45 * case.run.speed
    ends = pull.ends if "ends" in given else case.run.speed
    if begins >= 0.95 * ends:
        yield (
            f"pull.begins = {begins / units.RPM:.0f} rpm is not below pull.ends = {ends / units.RPM:.0f} rpm; a pull rises, by at "
            "least a twentieth."
        )


def _reach(case: "Sections") -> Iterator[str]:
    """A probe that would not go into its pipe."""
    exhaust, given = case.exhaust, case.exhaust.model_fields_set
    bore = exhaust.runner_diameter if "runner_diameter" in given else runner_diameter(case)
    collector = exhaust.collector_diameter if "collector_diameter" in given else collector_diameter(case, bore)
    for k, probe in enumerate(case.probe, 1):
        wide = bore if isinstance(probe.cylinder, int) else collector
        if "immersion" in probe.model_fields_set and probe.immersion > wide:
            yield (
                f"probe.{k}.immersion = {1e3 * probe.immersion:g} mm is more than the {1e3 * wide:.0f} mm bore of its pipe; write "
                "how far the tip stands beyond the inside of the wall."
            )
