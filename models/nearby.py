"""How hot a thing gets that stands near a hot pipe without touching it: seen by the pipe, cooled by the air of the bay."""

from .transport import STEFAN_BOLTZMANN


def seen_share(radius: float, distance: float) -> float:
    """View factor from a small plate to a long round pipe it faces: radius over distance to the pipe's axis.

    Element parallel to an infinitely long cylinder, its normal through the axis: F = r / h (J. R. Howell's catalogue of
    configuration factors, from memory, confidence high). A short pipe is seen less, so this is the warm side.

    radius : float, outside radius of the pipe [m]
    distance : float, from the pipe's surface to the plate [m]
    Returns the share of the plate's view that the pipe fills [-]
    """
    return radius / (radius + distance)


def facing_temperature(
    t_hot: float, t_air: float, share: float, emissivity_hot: float, emissivity: float, coefficient: float
) -> float:
    """Temperature of a thin plate that faces a hot surface: radiation in on one face, lost with convection from both.

    e [F (eh Th^4 + (1 - eh) Ta^4) + (2 - F) Ta^4 - 2 T^4] sigma = 2 h (T - Ta), by Newton's rule; grey, diffuse, insulated
    edges. What radiates to the plate beyond the pipe is the bay at air temperature.

    t_hot : float, surface temperature of the pipe [K]
    t_air : float, air and walls of the bay [K]
    share : float, what the pipe fills of the front face's view, of seen_share [-]
    emissivity_hot : float, of the pipe's outside [-]
    emissivity : float, of the plate [-]
    coefficient : float, convection from the plate to the air [W/m2K]
    Returns the temperature of the plate [K]
    """
    front = share * (emissivity_hot * t_hot**4 + (1.0 - emissivity_hot) * t_air**4)
    gain = emissivity * STEFAN_BOLTZMANN * (front + (2.0 - share) * t_air**4)
    sink = 2.0 * emissivity * STEFAN_BOLTZMANN
    t = max(t_hot, t_air)
    for _ in range(60):
        step = (sink * t**4 + 2.0 * coefficient * (t - t_air) - gain) / (4.0 * sink * t**3 + 2.0 * coefficient)
        t -= step
        if abs(step) < 1e-9 * t:
            break
    return t
