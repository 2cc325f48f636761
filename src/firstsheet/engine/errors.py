"""Every error a photographer can meet. Programming mistakes stay ValueError or TypeError.

FirstsheetError
  TicketError          a ticket or stock file says something impossible, with its line
  RefusedPictureError      the picture cannot be printed as it is
  QuestionError            something only the person can answer, and no default is safe
  ProfileError             a profile that is not one, or cannot do what is asked
  ReadingError             measured patches or a scan that cannot be read, or fit nothing
  StockError               unknown or unusable stock
  PlanStopError            the plan holds a finding of weight stop
  ChangedOriginalError     the original changed between plan and output
  OutputError              an output could not be written whole
  LedgerError              the ledger is damaged, or cannot do what is asked of it
  StoppedError             the person stopped the work

Each has three parts, found, consequence, choice, and fields for programs.
"""

from __future__ import annotations

__all__ = [
    "ChangedOriginalError",
    "FirstsheetError",
    "LedgerError",
    "OutputError",
    "PlanStopError",
    "ProfileError",
    "QuestionError",
    "ReadingError",
    "RefusedPictureError",
    "StockError",
    "StoppedError",
    "TicketError",
]


class FirstsheetError(Exception):
    """Base of everything that stops a print and can be put right by its maker.

    Parameters
    ----------
    found, consequence, choice
        The three parts of the message, each a sentence.
    code
        A stable kebab-case name for programs, such as `truncated-file`.
    option
        How the command line says the choice, such as `--page N`; other front ends leave it out.
    """

    exit_code = 1

    def __init__(
        self, found: str, consequence: str, choice: str, code: str = "", option: str = ""
    ) -> None:
        super().__init__(found, consequence, choice, code, option)
        self.found, self.consequence, self.choice = found, consequence, choice
        self.code, self.option = code, option

    def __str__(self) -> str:
        """Say found, consequence and choice in that order."""
        return " ".join(part for part in (self.found, self.consequence, self.choice) if part)


class TicketError(FirstsheetError):
    """A ticket, stock or option says something impossible; `found` names line and value."""

    exit_code = 2


class RefusedPictureError(FirstsheetError):
    """The picture cannot be printed as it is."""

    exit_code = 3


class QuestionError(RefusedPictureError):
    """Only the person can answer, and no default is safe; `choice` names the option."""


class ProfileError(FirstsheetError):
    """A profile that is not one, or cannot do what is asked of it."""

    exit_code = 3


class ReadingError(FirstsheetError):
    """Measured patches or a scan of a print that cannot be read, or do not fit."""

    exit_code = 3


class StockError(FirstsheetError):
    """The stock is unknown, or its record cannot be used."""

    exit_code = 2


class PlanStopError(FirstsheetError):
    """The plan holds a finding of weight stop."""

    exit_code = 4


class ChangedOriginalError(FirstsheetError):
    """The original changed between plan and output."""

    exit_code = 5


class OutputError(FirstsheetError):
    """An output could not be written whole; nothing is left under its final name."""

    exit_code = 6


class LedgerError(FirstsheetError):
    """The ledger is damaged or locked, knows no such print, or must not do what is asked."""

    exit_code = 7


class StoppedError(FirstsheetError):
    """The person stopped the work; nothing half done is left."""

    exit_code = 130
