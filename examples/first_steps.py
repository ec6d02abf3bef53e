"""First steps: load a case, change inputs, predict, read a few gauges and every margin.

python examples/first_steps.py            the built-in demo
python examples/first_steps.py my.toml    your case
"""

import sys

from hotside.sim import load, predict

case = load(sys.argv[1] if len(sys.argv) > 1 else None)
later = case.set(
    "run.spark_advance", f"{case.run.spark_advance - 4:g} deg"
)  # a case never changes; set gives a new one

for name, one in (("as it stands", case), ("spark 4 deg later", later)):
    p = predict(one)  # everything is in SI; the ending of a name is its unit
    print(f"{case.title}, {name}: {p.status}")
    print(f"  boost {p.boost_pa / 1e5:.2f} bar, backpressure {p.backpressure_pa / 1e5:.2f} bar", end="")
    print(f", ratio {p.backpressure_ratio:.2f}" if p.backpressure_ratio is not None else "")
    print(
        f"  torque {p.torque_nm:.0f} Nm, power {p.power_w / 1e3:.0f} kW, half the charge burnt at {p.ca50_deg:.1f} deg"
    )
    print(f"  gas leaving the cylinders {p.exhaust_temperature_k - 273.15:.0f} degC")
    for probe in p.probes:
        where = f"cylinder {probe['cylinder']}" if isinstance(probe["cylinder"], int) else probe["cylinder"]
        print(f"  probe, {where}: gas {probe['gas_temperature_k'] - 273.15:.0f} degC", end="")
        print(f", reads {probe['reading_k'] - 273.15:.0f} degC")
    for m in p.margins:
        edge = "EXCEEDED" if m["exceeded"] else "left"
        print(f"  {m['name']}: {m['value']:.4g} now, limit {m['limit']:.4g}, {abs(m['margin']):.3g} {edge}")
    for sentence in p.warnings:
        print(f"  ! {sentence}")

print("A calculation, not a measurement: a limit is an edge. Makers' limits and qualified people come first.")
