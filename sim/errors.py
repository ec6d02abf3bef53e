"""What is raised for what the user can mend."""


class CaseError(ValueError):
    """A case or a wish that cannot be met; the text is the one sentence the user reads."""


class Refused(ValueError):
    """What is wrong with one value, as a clause that follows `name = value`."""


class SolveError(ArithmeticError):
    """A point that has no physical answer; the text is the sentence for the user."""
