"""What a shell completes beside commands and options: the names of inputs and results."""


def names(beginning: str) -> list[str]:
    """Results and inputs that begin so; those of a list as of its first."""
    from .names import RESULTS

    return [n for n in RESULTS if n.startswith(beginning)] + _inputs(beginning)


def changes(beginning: str) -> list[str]:
    """Inputs that begin so, ready for their value."""
    return [f"{n}=" for n in _inputs(beginning)]


def _inputs(beginning: str) -> list[str]:
    from .names import inputs

    return [n for n in (name.replace(".N.", ".1.") for name in inputs()) if n.startswith(beginning)]
