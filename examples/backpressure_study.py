"""Backpressure's share of residual gas, knock and power.

    python examples/backpressure_study.py               the built-in demo; writes backpressure_study.png here
    python examples/backpressure_study.py six.toml --picture out.png
    python examples/backpressure_study.py --quick       few points

The pressure before the turbine is held by hand (run.held_backpressure) over a grid with the boost. One row of the grid is
backpressure at fixed intake pressure; the line through the grid along which the same fresh air passes is the other
question, the one a turbo answers by asking for more boost.
"""

import sys
from pathlib import Path

import numpy as np
import xarray as xr
from beside import asked, beside
from hotside.sim import Case, predict, sweep
from matplotlib.figure import Figure

BACK, BOOST = "run.held_backpressure", "run.boost"
STEP = 30e3  # [Pa]
LITERATURE = """\
What the literature reports
  1 Octane required rises by 1 for each 30 kPa of exhaust backpressure (S. Russ, SAE 960497, 1996, abstract; that the fresh
    air is held is our reading).
  2 Residual gas of the ideal cycle goes with (exhaust over intake pressure)^(1/gamma), gamma about 1.3 (Heywood 1988,
    eq. 5.47, from memory, confidence high): the exponent is 0.77 where nothing flows back in the overlap.
  3 Pumping work of the ideal cycle is the pressure difference: 1 bar of pmep for each bar of backpressure.
  4 Air drawn in falls with (exhaust over intake pressure) / (gamma (compression ratio - 1)) (Heywood 1988, eq. 6.5, from
    memory, confidence high).
"""
WHY = """
Where it does not agree, as far as is known
  At high speed and low backpressure the blowdown holds the cylinder's pressure above the manifold's while the exhaust valve
  passes all it can, and what lies behind the valve is not felt: the slope of pmep begins near nothing, grows with
  backpressure, and comes to 1 at low speed (the demo at 2500 rpm: 0.97). In the overlap gas flows back from the exhaust or
  through to it, which the ideal cycle has not. The ranges about an ideal slope are our own, 25 % wide.
"""


def study(case: Case, quick: bool = False) -> xr.Dataset:
    """The map: backpressure from none to well past the working point, and boost about it."""
    now = predict(case)
    if now.boost_pa is None:
        sys.exit("this study needs a case with a turbo")
    backs = np.linspace(0.0, max(now.backpressure_pa, now.boost_pa) + 2.0 * STEP, 5 if quick else 13)
    boosts = now.boost_pa + np.linspace(-0.3, 0.35, 5 if quick else 12) * (now.boost_pa + 1e5) * 0.5
    found = sweep(case, {BACK: (backs, "Pa"), BOOST: (boosts, "Pa")})
    return found.assign_attrs(working_backpressure=now.backpressure_pa, working_boost=now.boost_pa)


def lines(found: xr.Dataset) -> tuple[xr.Dataset, xr.Dataset]:
    """Results against backpressure: at fixed intake pressure, and with the fresh air of the working point held."""
    names = ["residual_fraction", "octane_required", "power_w", "pmep_pa", "air_flow_kg_s", "boost_pa"]
    data = found[[*names, "intake_pressure_pa", "pre_turbine_pressure_pa"]]
    fixed = data.interp({BOOST: found.attrs["working_boost"]}, method="quadratic")
    air = float(fixed["air_flow_kg_s"].interp({BACK: found.attrs["working_backpressure"]}))
    boosts = [np.interp(air, row, found[BOOST], left=np.nan, right=np.nan) for row in data["air_flow_kg_s"].values]
    along = xr.DataArray(boosts, dims=BACK, coords={BACK: found[BACK]})
    return fixed, data.interp({BOOST: along}, method="quadratic")


def slope(found: xr.Dataset, line: xr.Dataset, name: str, step: float) -> float:
    """Rise of a result for a step of backpressure, about the working point."""
    places = found.attrs["working_backpressure"] + np.array([-STEP, STEP])
    low, high = line[name].interp({BACK: places}, method="quadratic").values
    return float(high - low) / (2.0 * STEP) * step


def share(line: xr.Dataset, name: str, back: float) -> float:
    """What part of a result's value at a backpressure is there because of it: 1 less its value without."""
    known = line[name].dropna(BACK)
    return float(1.0 - known[0] / known.interp({BACK: back}))


def exponent(line: xr.Dataset) -> float:
    """Of residual gas over the ratio of exhaust to intake pressure, by least squares."""
    ratio = line["pre_turbine_pressure_pa"] / line["intake_pressure_pa"]
    return float(np.polyfit(np.log(ratio), np.log(line["residual_fraction"]), 1)[0])


def report(found: xr.Dataset, case: Case) -> None:
    """What was found beside what is reported."""
    fixed, fresh = lines(found)
    back = found.attrs["working_backpressure"]
    print(
        f"What is found; the working point has {back / 1e5:.2f} bar of backpressure at {found.attrs['working_boost'] / 1e5:.2f} bar of boost"
    )
    print("  for each 30 kPa about it        fixed intake pressure   fresh air held")
    rows = (("residual gas [points]", "residual_fraction", 100.0), ("octane required", "octane_required", 1.0))
    rows += (("pmep [bar]", "pmep_pa", 1e-5), ("power [kW]", "power_w", 1e-3), ("air flow [g/s]", "air_flow_kg_s", 1e3))
    rows += (("boost [bar]", "boost_pa", 1e-5),)
    for label, name, factor in rows:
        print(
            f"  {label:<30} {factor * slope(found, fixed, name, STEP):+21.2f} {factor * slope(found, fresh, name, STEP):+16.2f}"
        )
    print(
        "  part of the working point's value that is there because of its backpressure, fresh air held where that is known"
    )
    for label, name in (("residual gas", "residual_fraction"), ("power (negative: lost)", "power_w")):
        print(f"  {label:<30} {100 * share(fixed, name, back):+20.1f} % {100 * share(fresh, name, back):+14.1f} %")
    octane = float(fresh["octane_required"].interp({BACK: back}) - fresh["octane_required"].dropna(BACK)[0])
    print(f"  octane asked for by backpressure with the fresh air held: {octane:.1f}")
    drop = (
        -slope(found, fixed, "air_flow_kg_s", 1.0)
        / float(fixed["air_flow_kg_s"].max())
        * float(fixed["intake_pressure_pa"][0])
    )
    ideal = 1.0 / (1.3 * (case.engine.compression_ratio - 1.0))
    print("\nBeside the literature")
    print(
        beside("1 octane for 30 kPa, fresh air held", slope(found, fresh, "octane_required", STEP), 0.5, 2.0, figures=2)
    )
    print(beside("2 exponent of residual gas", exponent(fixed), 0.58, 0.96, figures=2))
    print(beside("3 pmep for 1 bar", -slope(found, fixed, "pmep_pa", 1.0), 0.75, 1.25, "bar", 2))
    print(
        beside(
            "4 air lost for a rise of the ratio by 1",
            100.0 * drop,
            round(75.0 * ideal, 1),
            round(125.0 * ideal, 1),
            "%",
        )
    )
    print(WHY)


def draw(found: xr.Dataset, path: Path) -> None:
    """Residual gas, octane required, power and boost against backpressure, both ways."""
    fixed, fresh = lines(found)
    panels = (("residual_fraction", "residual gas [%]", 100.0), ("octane_required", "octane required", 1.0))
    panels += (("power_w", "power [kW]", 1e-3), ("boost_pa", "boost [bar]", 1e-5))
    figure = Figure(figsize=(9.0, 6.4), layout="constrained")
    for number, (name, label, factor) in enumerate(panels, 1):
        axes = figure.add_subplot(2, 2, number)
        for look, line, said in (("-", fixed, "fixed intake pressure"), ("--", fresh, "fresh air held")):
            axes.plot(line[BACK] / 1e5, factor * line[name], look, marker=".", label=said)
        axes.axvline(found.attrs["working_backpressure"] / 1e5, color="0.5", linewidth=0.8)
        axes.set_xlabel("backpressure [bar]")
        axes.set_ylabel(label)
        axes.grid(color="0.9")
    figure.axes[0].legend(frameon=False)
    title = f"{found.attrs['title']}: backpressure by itself (upright line: the working point)"
    figure.suptitle(title, x=0.01, ha="left", fontsize=10)
    figure.savefig(path, dpi=80)


def main() -> None:
    """Run the study."""
    case, picture, quick = asked(__doc__, "backpressure_study.png")
    print(f"{case.title}: backpressure's share of residual gas, knock and power\n\n{LITERATURE}")
    found = study(case, quick)
    report(found, case)
    draw(found, picture)
    print(f"{picture} written. A calculation, not a measurement.")


if __name__ == "__main__":
    main()
