"""What the follow-up planner refuses, in words that say what to do instead."""


class FollowupError(ValueError):
    """A template, an anchor or a time that cannot be used. `field` names which."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


class TableError(ValueError):
    """A row of the follow-up table, or of the list of its versions, that cannot be read."""

    def __init__(self, row: int, column: str, problem: str, file: str = "followups.csv") -> None:
        super().__init__(f"{file}, row {row}, column {column}: {problem}")
        self.row = row
        self.column = column
        self.problem = problem
