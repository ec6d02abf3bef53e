"""What noise, phase, peg, compression ratio and wall heat do to a burn taken from cylinder pressure.

    python examples/pressure_errors.py                  the demo
    python examples/pressure_errors.py divided_four.toml    another

The pressure is the case's own, sampled every half degree, so that the true burn is known. Every row spoils one thing.
"""

import sys
from collections.abc import Iterator

import numpy as np
from hotside.sim import BurnResult, Case, burn, load, predict
from hotside.sim.verbs.burn.trace import Cycle, Trace
from scipy.interpolate import CubicSpline

NOISE, PHASE, PEG, RATIO, WALLS = 0.01, 1.0, 0.2, 0.3, 1.25  # of the reading; [deg]; [bar]; -; factor
ANGLE = np.arange(-110.0, 120.0, 0.5)


def own(case: Case) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pressure every half degree [Pa]; crank angle [deg] and burned fraction of the cycle itself."""
    trace = predict(case, trace=True).trace
    angle, pressure, burned = (
        np.array(trace[name]) for name in ("crank_angle_deg", "cylinder_pressure_pa", "burned_fraction")
    )
    kept = (np.abs(angle) < 125.0) & np.concatenate(([True], np.diff(angle) > 1e-6))
    smooth = CubicSpline(angle[kept], np.log(pressure[kept]))
    return np.exp(smooth(ANGLE)), angle[kept], np.maximum.accumulate(burned[kept])


def spoilt(case: Case, pressure: np.ndarray) -> Iterator[tuple[str, BurnResult]]:
    """What is spoilt, and the burn that comes of it."""
    draw = np.random.default_rng(1)
    ratio, walls = case.engine.compression_ratio, case.wall_heat.scale

    def found(*cycles: Cycle, of: Case = case, **how: str) -> BurnResult:
        return burn(of, Trace(list(cycles), 0, None), **how)

    def noisy() -> Cycle:
        return Cycle(ANGLE, pressure * (1.0 + NOISE * draw.standard_normal(ANGLE.size)))

    clean = Cycle(ANGLE, pressure)
    yield "nothing", found(clean)
    for window in ("0 deg", "5 deg", "8 deg"):
        yield f"noise of 1 %, one cycle, smoothed {window}", found(noisy(), smooth=window)
    yield "noise of 1 %, mean of 50 cycles", found(*(noisy() for _ in range(50)))
    for turn in (PHASE, -PHASE):
        yield f"phase {turn:+g} deg", found(Cycle(ANGLE + turn, pressure))
    for shift in (PEG, -PEG):
        yield f"peg {shift:+g} bar", found(Cycle(ANGLE, pressure + 1e5 * shift))
    yield f"peg {-PEG:+g} bar, --peg compression", found(Cycle(ANGLE, pressure - 1e5 * PEG), peg="compression")
    for more in (RATIO, -RATIO):
        yield (
            f"compression ratio of the case {more:+g}",
            found(clean, of=case.set("engine.compression_ratio", ratio + more)),
        )
    yield "wall heat of the case +25 %", found(clean, of=case.set("wall_heat.scale", WALLS * walls))


def main(source: str | None = None) -> None:
    """Print the table."""
    case = load(source)
    pressure, angle, burned = own(case)
    heading = ("spoilt", "CA10", "CA50", "CA90", "worst", "burnt in the end", "work", "asks to be added")
    print(f"{case.title}; CA in deg and work in % against the first row, worst error in % of burned fraction\n")
    print("| " + " | ".join(heading) + " |\n" + "| --- " * len(heading) + "|")
    here: BurnResult | None = None
    for what, r in spoilt(case, pressure):
        here = here or r
        error = np.abs(np.array(r.burned_fraction) - np.interp(r.crank_angle_deg, angle, burned)).max()
        turned = (getattr(r, name) - getattr(here, name) for name in ("ca10_deg", "ca50_deg", "ca90_deg"))
        cells = [what, *(f"{x:+.1f}" for x in turned), f"{100 * error:.1f} %", f"{100 * r.burned_at_end:.1f} %"]
        cells += [f"{100 * (r.work_j / here.work_j - 1):+.1f} %", f"{1e-5 * (r.peg_asked_pa or 0.0):+.2f} bar"]
        print("| " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main(*sys.argv[1:2])
