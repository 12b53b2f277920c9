"""A typing slip in an answer cell gives one sentence that says what to type, not a traceback.

It stays an error: the cell's output is one, and a grader treats it as one. Only how it reads changes. What our own
reader can read is no error at all: `as_typed` hands it to the kernel in a form that it takes.
"""

from __future__ import annotations

from types import TracebackType
from typing import Any

from refinishlib.course.answers import SLIP, read_cell
from refinishlib.course.as_typed import cells
from refinishlib.course.cures import cure, parts_of

RUN_ALL = "press Run the whole lesson"
# Whatever a line of plain answers can end in.
SLIPS = (SyntaxError, NameError, TypeError, ValueError, ArithmeticError)


def use_plain_errors() -> None:
    """Show plain sentences for slips in this kernel, from now on. Without IPython it does nothing."""
    from IPython import get_ipython

    shell = get_ipython()
    if shell is not None:
        shell.set_custom_exc(SLIPS, _show)


def plain_sentence(error: Exception, line: str) -> str:
    """What to type instead.

    Parameters
    ----------
    error : the error of a cell
    line : the line of the cell that raised it; may be empty

    >>> plain_sentence(SyntaxError("invalid syntax"), "total_g = 7 grams   # in grams")
    'total_g = 7 grams: type the number with its unit in quotes, "7 grams", or only the number, 7.'
    >>> plain_sentence(NameError("name 'rescue' is not defined", name="rescue"), "choice = rescue")
    'choice = rescue: put words in quotes, "rescue".'
    >>> plain_sentence(ZeroDivisionError("division by zero"), "share = 1/0")
    'share = 1/0: This line divides by zero. Look at the number below the line of the fraction.'
    """
    name, typed = parts_of(line)
    shown = f"{name} = {typed}" if name else line.split("#")[0].strip()
    said = _advice(error, line, name, typed)
    return f"{shown}: {said}" if shown else said


def _advice(error: Exception, line: str, name: str, typed: str) -> str:
    if isinstance(error, NameError):
        unknown = error.name or "something"
        if name and unknown == typed:
            return f'put words in quotes, "{typed}".'
        return f'"{unknown}" has no value yet. Correct the cell above if it shows a mistake, then {RUN_ALL}.'
    if isinstance(error, IndentationError):
        return "take away the blanks at the beginning of the line."
    if isinstance(error, SyntaxError):
        return cure(line)
    return read_cell(line, cells.values()).sentence or cure(line)


def _show(
    shell: Any, kind: type[BaseException], error: Any, trace: TracebackType | None, tb_offset: int | None = None
) -> list[str]:
    """IPython's handler for the errors that use_plain_errors names."""
    line = _line_of(shell, error, trace)
    if line is None:
        shell.showtraceback((kind, error, trace), tb_offset=tb_offset)
    else:
        shell._showtraceback(kind, error, [plain_sentence(error, line)])
    return getattr(shell, "_last_traceback", None) or []


def _line_of(shell: Any, error: Any, trace: TracebackType | None) -> str | None:
    """The line of the cell that went wrong; None when it went wrong inside the library, where no typing slip is."""
    if isinstance(error, SyntaxError):
        return (error.text or "").rstrip("\n")
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    if trace is None or trace.tb_frame.f_globals is not shell.user_global_ns:
        return None
    import linecache

    line = linecache.getline(trace.tb_frame.f_code.co_filename, trace.tb_lineno).rstrip("\n")
    if isinstance(error, NameError):
        return line
    slip = trace.tb_frame.f_code.co_name == "<module>" and read_cell(line, cells.values()).problem == SLIP
    return line if slip else None
