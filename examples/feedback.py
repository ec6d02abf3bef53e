"""What the exhaust gives back: the same engine with the loop through the turbine closed and opened.

    python examples/feedback.py               the built-in demo
    python examples/feedback.py my.toml       your case, one with a turbo

First more boost is asked for, once with the manifold pressure held by hand (run.held_backpressure) and once with the
turbine deciding: the difference is what the loop adds. Then backpressure is raised by itself in steps, at a fixed intake
pressure and at a fixed flow of fresh air, to see what it does to the octane the engine requires.
"""

import sys

from hotside.sim import Case, Prediction, load, predict

MORE_BOOST = 0.2e5  # [Pa]
STEP, STEPS = 30e3, 4  # of backpressure [Pa]
PUBLISHED = 1.0  # octane for each 30 kPa of backpressure, S. Russ, SAE 960497 (1996), abstract
ROWS = (  # label, value, figures behind the point
    ("boost [bar]", lambda p: p.boost_pa / 1e5, 2),
    ("backpressure [bar]", lambda p: p.backpressure_pa / 1e5, 2),
    ("backpressure to boost", lambda p: p.backpressure_ratio, 2),
    ("air flow [g/s]", lambda p: 1e3 * p.air_flow_kg_s, 1),
    ("residual gas [%]", lambda p: 100.0 * p.residual_fraction, 2),
    ("50 % burnt [deg]", lambda p: p.ca50_deg, 2),
    ("gas leaving cylinders [degC]", lambda p: p.exhaust_temperature_k - 273.15, 1),
    ("octane required", lambda p: p.octane_required, 2),
    ("pumping work, pmep [bar]", lambda p: p.pmep_pa / 1e5, 2),
    ("power [kW]", lambda p: p.power_w / 1e3, 1),
)


def held(case: Case, backpressure: float, boost: float) -> Prediction:
    """The point with the manifold pressure held by hand; gauge pressures in Pa."""
    return predict(case.set_si({"run.held_backpressure": backpressure, "run.boost": boost}))


def held_air(case: Case, backpressure: float, boost: float, air: float) -> Prediction:
    """The point at a backpressure with boost moved, by secant steps, until the air flow is `air` [kg/s]."""
    last, p = held(case, backpressure, boost), held(case, backpressure, 1.02 * boost + 1e3)
    for _ in range(10):
        if abs(p.air_flow_kg_s - air) < 1e-6 * air:
            return p
        slope = (p.air_flow_kg_s - last.air_flow_kg_s) / (p.boost_pa - last.boost_pa)
        last, p = p, held(case, backpressure, p.boost_pa + (air - p.air_flow_kg_s) / slope)
    raise ArithmeticError(f"no boost found that passes {air:.4f} kg/s against {backpressure / 1e5:.2f} bar")


def loop(case: Case) -> dict[str, Prediction]:
    """Now and with more boost, each with the manifold pressure held at today's and with the turbine deciding."""
    now = predict(case)
    if not now.boost_reached:
        if now.boost_pa < 2.0 * MORE_BOOST:
            sys.exit(f"the turbine makes {now.boost_pa / 1e5:.2f} bar here, too little to compare")
        print(f"the turbine makes no more than {now.boost_pa / 1e5:.2f} bar here, so less is asked for")
        case = case.set_si({"run.boost": now.boost_pa - MORE_BOOST})
        now = predict(case)
    more = predict(case.set_si({"run.boost": now.boost_pa + MORE_BOOST}))
    return {
        "now, held": held(case, now.backpressure_pa, now.boost_pa),
        "more, held": held(case, now.backpressure_pa, more.boost_pa),
        "now, loop": now,
        "more, loop": more,
    }


def steps(case: Case, now: Prediction) -> tuple[list[Prediction], list[Prediction]]:
    """Backpressure raised in steps: at fixed intake pressure, and with the fresh air held."""
    first = held(case, now.backpressure_pa, now.boost_pa)
    fixed, fresh = [first], [first]
    for k in range(1, STEPS + 1):
        fixed.append(held(case, now.backpressure_pa + k * STEP, now.boost_pa))
        fresh.append(held_air(case, now.backpressure_pa + k * STEP, fresh[-1].boost_pa, first.air_flow_kg_s))
    return fixed, fresh


def octane_per_step(points: list[Prediction]) -> float:
    """Mean rise of the octane required for each step of backpressure."""
    return (points[-1].octane_required - points[0].octane_required) / (len(points) - 1)


def print_loop(points: dict[str, Prediction]) -> None:
    """Four points side by side, and in the last column what the loop adds to the change."""
    print(f"{'':30}" + "".join(f"{name:>12}" for name in points) + f"{'loop adds':>12}")
    for label, value, places in ROWS:
        a, b, c, d = (value(p) for p in points.values())
        print(f"{label:30}" + "".join(f"{x:12.{places}f}" for x in (a, b, c, d)) + f"{(d - c) - (b - a):+12.{places}f}")


def print_steps(title: str, points: list[Prediction]) -> None:
    """A step of backpressure for each column."""
    print(f"\n{title}: {octane_per_step(points):+.2f} octane for each {STEP / 1e3:.0f} kPa of backpressure")
    for label, value, places in ROWS:
        print(f"{label:30}" + "".join(f"{value(p):12.{places}f}" for p in points))


EXPLANATION = f"""
Held: the manifold is a large vessel at today's mean pressure, so pressure pulses are missing too; the first and third
column differ by them alone. Loop: the turbine decides.

At a fixed intake pressure backpressure nearly cancels in the octane required: burnt gas that stays behind heats the
charge, but it also takes the place of fresh charge and slows the burn. With the fresh air held, boost must rise to push
in the same air, pressure and temperature of the end gas rise with it, and the octane required climbs. Published: about
{PUBLISHED:g} for each 30 kPa (S. Russ, SAE 960497, 1996, abstract; single-cylinder engine); 0.5 to 2 is to be expected.
Where the turbo's compressor supplies the boost, its outlet also gets hotter on the way, which counts in here."""


def main(path: str | None) -> None:
    """Print the comparison for a case file, or for the demo."""
    case = load(path)
    if case.is_bench:
        sys.exit("this example needs a case with a turbo")
    print(f"{case.title}, {case.run.speed_rpm:.0f} rpm: {MORE_BOOST / 1e5:g} bar more boost\n")
    points = loop(case)
    print_loop(points)
    fixed, fresh = steps(case, points["now, loop"])
    print_steps("backpressure raised at fixed intake pressure", fixed)
    print_steps("backpressure raised with the fresh air held", fresh)
    print(EXPLANATION)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
