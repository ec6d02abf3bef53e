"""The crank-resolved record of cylinder 1 and of the manifold, as columns."""

import numpy as np

from . import closed, recording
from .settle import March


def trace_of(march: March) -> dict[str, list[float]]:
    """Columns of equal length against crank angle of cylinder 1, -360 to 360 deg, 0 at firing top dead centre.

    Cylinder columns come from the march of cylinder 1; manifold columns are interpolated to its angles.
    """
    record = march.desk.record
    used = record[record[:, closed.R_P] > 0.0]
    angle = np.where(used[:, closed.R_ANGLE] > 360.0, used[:, closed.R_ANGLE] - 720.0, used[:, closed.R_ANGLE])
    order = np.argsort(angle, kind="stable")
    used, angle = used[order], angle[order]
    columns = {
        "crank_angle_deg": angle,
        "cylinder_pressure_pa": used[:, closed.R_P],
        "gas_temperature_k": used[:, closed.R_T],
        "unburned_temperature_k": used[:, closed.R_TU],
        "burned_temperature_k": used[:, closed.R_TB],
        "burned_fraction": used[:, closed.R_X],
        "volume_m3": used[:, closed.R_V],
        "mass_kg": used[:, closed.R_M],
    }
    manifold = march.desk.manifold_record
    steps = len(manifold)
    width = 720.0 / steps
    first = np.ceil(march.setup.engine.intake_closes / width - 1e-9) * width
    at = (first + width * np.arange(steps)) % 720.0
    at = np.where(at > 360.0, at - 720.0, at)
    turn = np.argsort(at)
    n = march.setup.engine.cylinders

    def column(place: int, what: int) -> np.ndarray:
        return np.interp(angle, at[turn], manifold[turn, place, what], period=720.0)

    columns["runner_pressure_pa"] = column(0, recording.M_P)
    columns["runner_temperature_k"] = column(0, recording.M_T)
    columns["exhaust_valve_flow_kg_s"] = column(0, recording.M_IN_FLOW)
    columns["intake_valve_flow_kg_s"] = column(0, recording.M_INTAKE_FLOW)
    for c in range(march.setup.engine.collectors):
        tail = "" if march.setup.engine.collectors == 1 else f"_{c + 1}"
        columns[f"collector_pressure{tail}_pa"] = column(n + c, recording.M_P)
        columns[f"collector_temperature{tail}_k"] = column(n + c, recording.M_T)
        columns[f"turbine_flow{tail}_kg_s"] = column(n + c, recording.M_IN_FLOW)
    return {name: [float(x) for x in values] for name, values in columns.items()}
