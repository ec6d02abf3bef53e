"""`predict`: one operating point solved and read."""

from collections.abc import Callable
from typing import Any

from . import accounts, balance, hot_parts, nitric, settle, surroundings, tap_line
from .case import Case
from .engine_readings import gauges, whole_engine
from .errors import SolveError as SolveError
from .knock_limit import knock_readings
from .margins import margins
from .models_used import models_used
from .near import Near, Trail, numbers, settle_near
from .prediction import Prediction
from .records import IN_AIR
from .settle import March
from .setup import Setup, prepare
from .trace import trace_of
from .valve_forces import valve_forces
from .warnings import warnings_of
from .water import water_readings

Progress = Callable[[str], None]
MASS_BOOKS, ENERGY_BOOKS = 1e-6, 1e-3  # to which a settled point must close [shares of flow and of the fuel's energy]
SECOND_LOOKS = 8  # at a point whose books do not close
FINEST = 1.0  # step of gas exchange that is halved no further [deg]
FINEST_CLOSED = 0.15  # step of the closed part that is halved no further [deg]
BREATHING_REACH = 3.0  # factor by which fitted breathing may stand above or below the case's own [-]
STATUS = {
    settle.CONVERGED: "converged",
    settle.BOOST_SHORT: "boost short",
    settle.BOOST_OVER: "boost over",
    settle.NOT_PERIODIC: "not periodic",
    settle.NO_FIRE: "does not fire",
    settle.BROKEN: "broken",
    settle.NO_AIR: "no fresh charge",
    settle.ALTERNATES: "alternates",
}


def predict(
    case: Case,
    *,
    trace: bool = False,
    progress: Progress | None = None,
    width: float | None = None,
    alike: bool | None = None,
) -> Prediction:
    """Solve one operating point and read every gauge.

    case : Case
    trace : whether to keep the crank-resolved record of cylinder 1 and the manifold
    progress : called with a sentence while tables or kernels are built
    width : step of gas exchange [deg], the default where None
    alike : False marches every cylinder by itself even where all are alike
    Raises SolveError in one sentence where the point has no answer.
    """
    report = None if progress is None else (lambda text, share: progress(f"{text} {share:.0%}"))
    setup = prepare(case, report, width, alike)
    if progress is not None and not balance.kept():
        progress("solving; the first run ever compiles the kernels, about a minute")
    return answer(setup, trace)[0]


def answer(setup: Setup, trace: bool = False, trail: Trail | None = None) -> tuple[Prediction, March]:
    """A set-up solved and read, and the march that gave it; raises SolveError.

    trail : points solved before, from which this one is begun where they can serve, and to which it is added; the answer is
        that of a cold start within the tolerance of the march

    A burn that is over within some degrees is too quick for the usual step of the closed part: its energy is then lost on the
    way, which the books show, and the point is marched again in finer steps.
    """
    if trail is None:
        march, ending = solve(setup)
    else:
        place = numbers(setup)  # before the march writes into the inputs
        march, ending = solve(setup, trail.near(place))
    found = read(march, ending, trace)
    for _ in range(SECOND_LOOKS):
        again = _again(march, ending, found)
        if again is None:
            break
        march, ending = again
        found = read(march, ending, trace)
    if trail is not None and found.converged:
        trail.add(place, march)
    return found, march


def _again(march: March, ending: int, found: Prediction) -> tuple[March, int] | None:
    """A point marched further or in finer steps where its books do not close, and how that ended; None where they do, or can no more."""
    plant = march.setup.plant
    if found.status == STATUS[settle.NOT_PERIODIC] and ending in settle.AT_REST:  # it drifted on
        if march.calm():
            return march, ending
        finer = _finer(march.setup)  # to and fro over a jump of the march itself, as where a step just empties a port
        return None if finer is None else solve(finer)
    if found.converged and found.energy_closure > ENERGY_BOOKS and plant.closed_width > FINEST_CLOSED:
        march.refit(march.setup._replace(plant=plant._replace(closed_width=0.5 * plant.closed_width)))
        return march, march.settle()
    return None


def solve(setup: Setup, near: Near | None = None) -> tuple[March, int]:
    """March a set-up to its balance, from cold or from its neighbours; raises SolveError.

    Where marches do not come to repeat themselves the steps may be too long for volumes as small as these: they are halved. That
    is tried before a point is looked at more closely, which takes long.
    """
    if near is not None and setup.case.engine.volumetric_efficiency_measured is None:
        march = March.of(setup._replace(inputs=setup.inputs.copy()))  # the march writes into them
        if settle_near(march, near):
            return march, march.ended
    march, ending = _solve(setup, patient=False)
    if ending == settle.NOT_PERIODIC:
        finer = _rests(_finer(setup))
        if finer is not None:
            return finer, finer.ended
        ending = _breathing(march, march.look_closer())
    while ending == settle.NOT_PERIODIC:
        half = _finer(march.setup)
        if half is None:
            break
        march, ending = _solve(half)
    return march, ending


def _rests(setup: Setup | None) -> March | None:
    """The march of a set-up that comes to rest by itself, None where it does not or there is none."""
    if setup is None:
        return None
    try:
        march, ending = _solve(setup, patient=False)
    except SolveError:
        return None
    return march if ending in settle.AT_REST else None


def _finer(setup: Setup) -> Setup | None:
    """The same point in half the steps of gas exchange, or None where they are fine already."""
    if 720.0 / setup.plant.steps <= FINEST:
        return None
    return prepare(setup.case, None, 360.0 / setup.plant.steps, bool(setup.engine.alike))


def _solve(setup: Setup, patient: bool = True) -> tuple[March, int]:
    march = March.of(setup)
    march.begin()
    return march, _breathing(march, march.settle(patient))


def _breathing(march: March, ending: int) -> int:
    """How a march ends when its intake is as wide as was measured; raises SolveError where it broke."""
    case = march.setup.case
    wanted = case.engine.volumetric_efficiency_measured
    if wanted is not None and ending != settle.BROKEN:
        ending = breathe(march, wanted, ending)
    if ending == settle.BROKEN:
        raise SolveError(
            f"no periodic answer at {case.run.speed_rpm:.0f} rpm: the gas left the range of the property tables "
            "(100 to 4500 K); check boost, valve timing and turbine size."
        )
    return ending


def breathe(march: March, wanted: float, ending: int) -> int:
    """Scale the intake until the volumetric efficiency is the measured one; returns how the last march ended.

    Steps and reach are bounded: an engine that draws nothing at all would else be asked for a thousandfold intake.
    """
    scale = 1.0
    for _ in range(6):
        found = whole_engine(march)["volumetric_efficiency"]
        step = min(max(wanted / max(found, 1e-6), 0.5), 2.0)
        step = min(max(scale * step, 1.0 / BREATHING_REACH), BREATHING_REACH) / scale
        if abs(found / wanted - 1.0) < 1e-4 or step == 1.0 or ending in (settle.BROKEN, settle.NOT_PERIODIC):
            break
        scale *= step
        march.setup.inputs[:, IN_AIR] *= step
        march.begin()
        ending = march.settle()
    return ending


def read(march: March, ending: int, trace: bool = False) -> Prediction:
    """One more cycle with the records kept, and everything read from it."""
    before = accounts.stored(march)
    shown = gauges(march)
    s, case = march.setup, march.setup.case
    sums = accounts.closure(march, before)
    if sums.mass > MASS_BOOKS and ending in settle.AT_REST:  # it stood still for a moment only
        ending = settle.NOT_PERIODIC
    converged = ending in settle.AT_REST
    values: dict[str, Any] = {
        **shown,
        **knock_readings(march),
        **valve_forces(march),
        "pressure_tap": tap_line.pressure_tap(march),
        "parts": hot_parts.parts(march, shown["turbine_inlet_temperature_k"]),
        "mass_closure": sums.mass,
        "energy_closure": sums.energy,
        "energy_unburned": sums.unburned,
        "wall_heat_fraction": sums.walls,
        "exhaust_heat_fraction": sums.exhaust,
        "cycles": int(march.z[surroundings.Z_CYCLES]),
        "converged": converged,
        "status": STATUS[ending],
        "models": models_used(s),
        **nitric.readings(march),
        **water_readings(march, shown["fuel_flow_kg_s"]),
    }
    values["margins"] = margins(case, s, values, hot_parts.held(march, values))
    values["warnings"] = warnings_of(march, ending, values)
    return Prediction(**values, trace=trace_of(march) if trace else None)
