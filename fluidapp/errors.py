"""Every error that a person can cause. Each keeps its numbers; the sentence is made last.

FluidappError
├── BadInput            a field holds what cannot be used
│   └── OutOfRange      a number beyond what physics or the gauge allows
├── Unknown             a name that is not listed
├── FileProblem         a file that cannot be read, or a place in it
├── CannotAnswer        a method refuses, with its reason
├── MissingExtra        an optional package is not installed
└── RecordsProblem      the records cannot be opened or written
    └── NotAllowed      this person may not write there
"""

import math
from collections.abc import Iterable


class FluidappError(Exception):
    """Base of all errors that are shown to a person as one sentence."""


class BadInput(FluidappError):
    """``field`` holds ``value``, which cannot be used; ``fix`` says what can."""

    def __init__(self, field: str, value: object, fix: str) -> None:
        super().__init__(field, value, fix)
        self.field, self.value, self.fix = field, value, fix

    def __str__(self) -> str:
        shown = f"“{self.value}”" if isinstance(self.value, str) else _plain(self.value)
        return f"{self.field}: {shown} cannot be used. {self.fix}"


class OutOfRange(BadInput):
    """A number outside ``low`` to ``high`` (either may be None) in ``unit``; ``above``, ``below``: that limit itself is outside too."""

    def __init__(
        self,
        field: str,
        value: float,
        low: float | None,
        high: float | None,
        unit: str,
        fix: str,
        above: bool = False,
        below: bool = False,
    ) -> None:
        Exception.__init__(self, field, value, low, high, unit, fix, above, below)
        self.field, self.value, self.low, self.high, self.unit, self.fix = field, value, low, high, unit, fix
        self.above, self.below = above, below

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if isinstance(self.value, float) and not math.isfinite(self.value):
            limit = "is not a finite number"
        elif self.low is not None and self.high is not None:
            to = "and below" if self.below else "and up to" if self.above else "to"
            limit = f"is not {'above' if self.above else 'within'} {self.low:g} {to} {self.high:g}{unit}"
        elif self.low is not None and self.above:
            limit = f"is not above {self.low:g}{unit}"
        elif self.low is not None:
            limit = f"is below {self.low:g}{unit}"
        else:
            limit = f"is above {_plain(self.high)}{unit}"
        return f"{self.field}: {_plain(self.value)}{unit} {limit}. {self.fix}"


class Unknown(FluidappError):
    """``name`` is not among the ``known`` ones of this ``kind``."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        known = tuple(known)
        super().__init__(kind, name, known)
        self.kind, self.name, self.known = kind, name, known

    def __str__(self) -> str:
        listed = ", ".join(self.known) if self.known else "none yet"
        return f"{self.kind}: “{self.name}” is not known. Known: {listed}."


class FileProblem(FluidappError):
    """``file`` cannot be used at ``where`` because of ``problem``; ``fix`` says what to do."""

    def __init__(self, file: str, where: str, problem: str, fix: str) -> None:
        super().__init__(file, where, problem, fix)
        self.file, self.where, self.problem, self.fix = file, where, problem, fix

    def __str__(self) -> str:
        place = f", {self.where}" if self.where else ""
        return f"{self.file}{place}: {self.problem}. {self.fix}"


class CannotAnswer(FluidappError):
    """``question`` has no answer from what was entered, for ``reason``; ``fix`` says what would help."""

    def __init__(self, question: str, reason: str, fix: str) -> None:
        super().__init__(question, reason, fix)
        self.question, self.reason, self.fix = question, reason, fix

    def __str__(self) -> str:
        return f"{self.question}: {self.reason}. {self.fix}"


class MissingExtra(FluidappError):
    """``task`` needs the optional packages of ``extra``."""

    def __init__(self, task: str, extra: str) -> None:
        super().__init__(task, extra)
        self.task, self.extra = task, extra

    def __str__(self) -> str:
        return f"To {self.task}, run: pip install 'fluidapp[{self.extra}]'"


class RecordsProblem(FluidappError):
    """The records at ``where`` cannot be used because of ``problem``; ``fix`` says what to do."""

    def __init__(self, where: str, problem: str, fix: str) -> None:
        super().__init__(where, problem, fix)
        self.where, self.problem, self.fix = where, problem, fix

    def __str__(self) -> str:
        return f"Records at {self.where}: {self.problem}. {self.fix}"


class NotAllowed(RecordsProblem):
    """This person may not write to these records."""


def _plain(value: object) -> str:
    if not isinstance(value, float):
        return str(value)
    return f"{value:.0f}" if 1e6 <= abs(value) < 1e15 else f"{value:.6g}"
