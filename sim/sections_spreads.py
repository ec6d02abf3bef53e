"""The section of a case that says how much the cylinders may differ, for "hotside placement".

It may stay out of a case: nothing but `hotside placement` reads it. Stand-ins are from memory, confidence medium.
"""

# fmt: off
from .schema import Section, guess, setting


class Spreads(Section):
    """[spreads]: how far cylinders may stray from what [[cylinder]] says, each as one standard deviation, for "hotside placement"."""

    air: float = guess("fraction", "a cylinder's air against the mean", 0.0, 0.05, to=0.02, like='"2 %"', band=0.5,
        tip="flow bench on the head with its intake manifold, runner by runner")
    fuel: float = guess("fraction", "a cylinder's fuel against the mean", 0.0, 0.05, to=0.02, like='"2 %"', band=0.5,
        tip="let every injector spray into its own glass for a minute; a cleaned and matched set is within 1 %")
    spark: float = guess("angle", "a cylinder's spark against run.spark_advance", "0 deg", "4 deg", to="0.5 deg", like='"0.5 deg"', band=0.5,
        tip="timing light on each cylinder in turn; a worn distributor strays by 1 deg and more")
    repeat: float = guess("temperature", "how far one probe's reading strays from pull to pull made alike, in K", "0.5 K", "60 K",
        to="6 K", like='"6 K"', band=0.5, tip="make the same pull five times and look")
    above: float = setting("temperature", "by how much a hotter cylinder may go unseen, in K", "1 K", "200 K", to="20 K")
