"""Every error Whetrule raises on purpose.

    WhetruleError
    |-- InputError          one value of a question, kit or trial cannot be used; names its field
    |   `-- OutOfRangeError  a number outside the range a function or attribute is valid for
    |-- KnowledgeError      one place in a knowledge file is wrong; names path, line and column
    |-- ConflictError       two rules of equal rank set one attribute to different values
    `-- ErrorList           several of the above, reported together

Each carries what a person needs to mend it: the place (``path:line:column`` or the field), what is
wrong, and a hint that says what to do.  The command line and the web print them, never a traceback.
"""

from __future__ import annotations

from collections.abc import Iterable


class WhetruleError(Exception):
    """Base of all errors meant for the person at the keyboard.

    Args:
        message: what is wrong, one sentence without a full stop.
        hint: what to do about it; may be empty.
        path: file the error is in, if any.
        line: 1-based line in that file.
        column: 1-based column in that line.
        field: name of the input the error is in, if any.
    """

    def __init__(
        self,
        message: str,
        *,
        hint: str = "",
        path: str = "",
        line: int = 0,
        column: int = 0,
        field: str = "",
    ) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.path = path
        self.line = line
        self.column = column
        self.field = field

    @property
    def parts(self) -> list[WhetruleError]:
        """The single errors it stands for: itself, or those of a list."""
        return [self]

    @property
    def place(self) -> str:
        """Where the error is: ``path:line:column``, the field's name, or nothing."""
        if self.path:
            parts = [self.path] + [str(n) for n in (self.line, self.column) if n]
            return ":".join(parts)
        return self.field

    def __str__(self) -> str:
        text = f"{self.place}: {self.message}" if self.place else self.message
        return f"{text}; {self.hint}" if self.hint else text

    def to_json(self) -> dict[str, object]:
        """Return the error as the JSON twin of pages and ``--json`` prints it."""
        return {
            "message": self.message,
            "hint": self.hint,
            "field": self.field or None,
            "path": self.path or None,
            "line": self.line or None,
            "column": self.column or None,
        }


class InputError(WhetruleError):
    """A value of a question, a kit or a trial cannot be used."""


class OutOfRangeError(InputError):
    """A number lies outside the range that a function or an attribute is valid for."""


class KnowledgeError(WhetruleError):
    """A knowledge file is wrong at one place."""


class ConflictError(WhetruleError):
    """Rules of equal rank set one attribute to different values; the message names them all."""


class ErrorList(WhetruleError):
    """Several errors reported together, in the order of their places."""

    def __init__(self, errors: Iterable[WhetruleError]) -> None:
        self.errors = sorted(errors, key=lambda e: (e.path, e.line, e.column, e.field, e.message))
        super().__init__("\n".join(str(error) for error in self.errors))

    @property
    def parts(self) -> list[WhetruleError]:
        """The errors of the list."""
        return self.errors

    def __str__(self) -> str:
        return self.message
