"""What triage refuses, in words that say what to do instead."""


class AnswerError(ValueError):
    """An answer, or another fact of the call report, that triage cannot use.

    `field` is the question's key (or the report's field), so that a form can put the sentence beside it.
    """

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


class UnknownComplaint(AnswerError):
    """The complaint code is not in the catalogue."""

    def __init__(self, code: object) -> None:
        super().__init__(
            "code", f"There is no complaint with the code {code!r}. Search for it by its trade name."
        )
        self.code = code


class CatalogueError(ValueError):
    """A row of the trade's tables that cannot be read; says which file, row and column."""

    def __init__(self, file: str, row: int, column: str, problem: str) -> None:
        super().__init__(f"{file}, row {row}, column {column}: {problem}")
        self.file = file
        self.row = row
        self.column = column
        self.problem = problem
