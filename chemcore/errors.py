"""The one exception of the chemistry: an argument that has no answer."""


class DomainError(ValueError):
    """An argument outside the range in which the question has an answer.

    Parameters
    ----------
    argument
        Name of the argument at fault, as in the function's signature.
    reason
        What is wrong and what would be right, without the argument's name.
    """

    def __init__(self, argument: str, reason: str) -> None:
        super().__init__(f"{argument}: {reason}")
        self.argument = argument
        self.reason = reason
