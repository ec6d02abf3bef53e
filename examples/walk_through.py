"""A winter's questions, cell by cell: open it in a notebook editor that knows `# %%`, or run it as it stands.

python examples/walk_through.py [CASE.toml]
"""

# %% A case. The built-in demo, or yours. Alone on the last line of a cell it shows itself as a table.
import sys

from hotside.sim import limits, load, plan, predict

case = load(sys.argv[1] if len(sys.argv) > 1 else None)
print(case.title)

# %% What will the gauges read? Everything is in SI, and the ending of a name is its unit.
now = predict(case)
for probe in now.probes:
    gas, reads = probe["gas_temperature_k"] - 273.15, probe["reading_k"] - 273.15
    print(f"the probe at {probe['location']} reads {reads:.0f} degC in gas of {gas:.0f} degC")
print(f"before the turbine {now.backpressure_pa / 1e5:.2f} bar at {now.boost_pa / 1e5:.2f} bar of boost")

# %% How near is each limit? A margin is negative past it; a limit is an edge, not a target.
for row in now.margins:
    print(f"{row['name']:32s} {row['margin']:+12.3f}" + ("  EXCEEDED" if row["exceeded"] else ""))

# %% What if? A case never changes: `set` gives another one, written as in a case file.
late = predict(case.set("run.spark_advance", f"{case.run.spark_advance - 3.0} deg"))
print(f"3 deg later: octane required {now.octane_required:.1f} to {late.octane_required:.1f},")
print(f"gas leaving the cylinders {late.exhaust_temperature_k - now.exhaust_temperature_k:+.0f} K,")
print(f"power {1e-3 * (late.power_w - now.power_w):+.1f} kW")

# %% How far can it go, and in which steps do I go there?
far = limits(case)
print(f"{len(far.region)} boosts looked at; the case stands {'inside' if far.inside else 'outside'} its limits")
card = plan(case)
for pull in card.pulls:
    print(
        f"pull {pull['pull']}: {pull['boost_pa'] / 1e5:.2f} bar, {pull['spark_advance_deg']:.1f} deg; then {pull['next']}"
    )

# %% Which inputs are guesses, and how is each measured?
for name, tip in list(case.guesses.items())[:5]:
    print(f"{name}: {tip}")
print("This is a calculation, not a measurement: makers' limits, local rules and qualified people come first.")
