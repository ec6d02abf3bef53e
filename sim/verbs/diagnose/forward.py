"""The model at the points of a log: each solved once from cold, then again and again from where it stood.

The boost of a point is what was measured, so nothing has to be found but periodicity; the wastegate is steered where it
is free, held where its opening is known. Held, turbine and compressor power need not agree: what is missing is read like
a gauge that must show nothing.
"""

from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

from ... import balance, dotted, engine_readings, recording, settle, steady, surroundings
from ...case import Case
from ...errors import CaseError
from ...records import IN_H, N_INPUT, Array
from ...settle import March
from ...setup import Setup, prepare
from ...variants import Variants

GOAL = 3e-6  # change from cycle to cycle at which a warm start counts as settled
MOST = 40  # cycles
WORKERS = 2  # the kernels let other threads run
BALANCE = "balance"  # the surplus of turbine power
READINGS = (
    "backpressure", "outlet_pressure", "air_flow", "fuel_flow", "torque", "shaft_speed", "intake_temperature",
    "compressor_temperature", "turbine_outlet_temperature", BALANCE,
)  # fmt: skip


class Unsolved(ArithmeticError):
    """A point at which the model has no answer."""


class Stand:
    """One point of a log on the test stand: a march that goes on from where it was."""

    def __init__(self, variants: Variants, case: Case, opening: float | None) -> None:
        self.variants, self.case, self.opening = variants, case, opening
        self.march: March | None = None
        self.kept: tuple[Array, ...] = ()
        self.runner_pressure = np.zeros((0, 1))  # over the last cycle read, absolute [Pa]
        self.ambient_pressure = self.wastegate_area = 0.0

    def read(
        self,
        values: Mapping[str, float],
        opening: float | None = None,
        keep: bool = False,
        texts: Mapping[str, Any] | None = None,
    ) -> dict[str, float]:
        """Every channel, with inputs changed (dotted names, SI); `keep` starts later ones from here. Raises Unsolved.

        texts : further inputs, as written in a case file
        """
        try:
            changes = {n: dotted.in_si(n, v, self.case) for n, v in values.items()}
            setup = prepare(self.variants.make(changes | dict(texts or {})))
            march = self._warm(setup) if self.march is not None else self._cold(setup)
            self._solve(march, self.opening if opening is None else opening)
            if keep:
                self.march = march
                self.kept = _arrays(march)
            self.runner_pressure = march.desk.manifold_record[:, : march.setup.engine.cylinders, recording.M_P].copy()
            self.ambient_pressure, self.wastegate_area = march.setup.ambient.pressure, march.setup.plant.wastegate_area
            return self._channels(march)
        except (settle.Broken, steady.SolveError, CaseError):
            raise Unsolved from None

    def _cold(self, setup: Setup) -> March:
        march = March.of(setup)
        march.begin()
        march.run(balance.WASTEGATE, 1e-3, 25)
        return march

    def _warm(self, setup: Setup) -> March:
        """The kept march with another set-up; from cold where the set-up wants other steps."""
        old = self.march
        assert old is not None
        if setup.plant.steps != old.setup.plant.steps or setup.inputs.shape != old.setup.inputs.shape:
            return self._cold(setup)
        setup.inputs[:, IN_H:N_INPUT] = old.setup.inputs[:, IN_H:N_INPUT]
        march = March(setup, old.memory, old.desk, old.z.copy())
        for array, kept in zip(_live(march), self.kept, strict=True):
            array[:] = kept
        march.z[surroundings.Z_CYCLES] = 0.0
        return march

    def _solve(self, march: March, opening: float | None) -> None:
        z, plant = march.z, march.setup.plant
        z[surroundings.Z_INTAKE] = plant.intake_pressure
        if plant.kind != surroundings.TURBO:
            raise Unsolved
        if opening is None:
            stop = march.run(balance.WASTEGATE, GOAL, MOST)
            if stop not in (balance.SHUT, balance.OPEN):
                return
            opening = 0.0 if stop == balance.SHUT else 1.0
        z[surroundings.Z_WASTE] = opening * plant.wastegate_area
        march.run(balance.NOTHING, GOAL, MOST)

    def _channels(self, march: March) -> dict[str, float]:
        shown, z, s = engine_readings.gauges(march), march.z, march.setup
        found = {
            "backpressure": shown["backpressure_pa"],
            "outlet_pressure": float(z[surroundings.Z_OUTLET]) - s.ambient.pressure,
            "air_flow": shown["air_flow_kg_s"],
            "fuel_flow": shown["fuel_flow_kg_s"] / s.fuel.density,
            "torque": shown["torque_nm"],
            "shaft_speed": shown["shaft_speed_rad_s"],
            "intake_temperature": shown["intake_temperature_k"],
            "compressor_temperature": float(z[surroundings.Z_T2]),
            "turbine_outlet_temperature": shown["turbine_outlet_temperature_k"],
            BALANCE: float(z[surroundings.Z_SURPLUS]),
            "opening": shown["wastegate_opening"],
        }
        for k, probe in enumerate(shown["probes"], 1):
            found[f"probe.{k}"] = probe["reading_k"]
        if not all(np.isfinite(v) for v in found.values()):
            raise Unsolved
        return found


def _live(march: March) -> tuple[Array, ...]:
    return (*march.memory, march.z, march.setup.inputs[:, IN_H:N_INPUT])


def _arrays(march: March) -> tuple[Array, ...]:
    return tuple(array.copy() for array in _live(march))


def each(tasks: Iterable[Any], workers: int = WORKERS) -> list[Any]:
    """Call every task, in threads; the results in order."""
    tasks = list(tasks)
    if workers < 2 or len(tasks) < 2:
        return [task() for task in tasks]
    with ThreadPoolExecutor(workers) as pool:
        return list(pool.map(lambda task: task(), tasks))
