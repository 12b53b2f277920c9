"""A typing slip in an answer cell gives one sentence that says what to type, not a traceback.

It stays an error: the cell's output is one, and a grader treats it as one. Only how it reads changes.
"""

from __future__ import annotations

import re
from types import TracebackType
from typing import Any

DOTS_AGAIN = "or put the three dots (...) back"
RUN_ALL = "press Run the whole lesson"

_ANSWER = re.compile(r"^\s*(?P<name>\w+)\s*=(?!=)\s*(?P<typed>.*?)\s*(#.*)?$")
_NUMBER_AND_UNIT = re.compile(r"^(?P<number>-?(\d+\s+\d+/\d+|\d+/\d+|\d*[.,]?\d+))\s*(?P<unit>[^\W\d]|%|°)")
_FRACTION = re.compile(r"^\d+\s+\d+/\d+$")
_WORDS = re.compile(r"^[^\W\d][\w\s-]*$")
_CURLY = "“”„‘’‚«»´`"
_SIGNS = {"×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "²": "**2", "½": ".5", "¼": ".25", "¾": ".75"}


def use_plain_errors() -> None:
    """Show plain sentences for syntax and name errors in this kernel, from now on. Without IPython it does nothing."""
    from IPython import get_ipython

    shell = get_ipython()
    if shell is not None:
        shell.set_custom_exc((SyntaxError, NameError), _show)


def plain_sentence(error: SyntaxError | NameError, line: str) -> str:
    """What to type instead.

    Parameters
    ----------
    error : the error of a cell
    line : the line of the cell that raised it; may be empty

    >>> plain_sentence(SyntaxError("invalid syntax"), "total_g = 7 grams   # in grams")
    'total_g = 7 grams: type the number with its unit in quotes, "7 grams", or only the number, 7.'
    >>> plain_sentence(NameError("name 'rescue' is not defined", name="rescue"), "choice = rescue")
    'choice = rescue: put words in quotes, "rescue".'
    """
    found = _ANSWER.match(line)
    typed = found["typed"] if found else ""
    shown = f"{found['name']} = {typed}" if found else line.split("#")[0].strip()
    return f"{shown}: {_advice(error, typed, bool(found), line)}" if shown else _advice(error, typed, False, line)


def _advice(error: SyntaxError | NameError, typed: str, is_answer: bool, line: str) -> str:
    if isinstance(error, NameError):
        name = getattr(error, "name", None) or "something"
        if is_answer and _WORDS.match(typed) and name == typed:
            return f'put words in quotes, "{typed}".'
        return f'"{name}" has no value yet. Correct the cell above if it shows a mistake, then {RUN_ALL}.'
    curly = next((sign for sign in _CURLY if sign in line), None)
    if curly:
        return f"type straight quotes, \" or ', instead of {curly}."
    sign = next((sign for sign in _SIGNS if sign in typed), None)
    if sign:
        return f"type {_SIGNS[sign]} instead of {sign}."
    number = _NUMBER_AND_UNIT.match(typed)
    if number:
        plain = number["number"].replace(",", ".")
        if " " in plain:
            return f'type the number with its unit in quotes, "{typed}".'
        return f'type the number with its unit in quotes, "{typed}", or only the number, {plain}.'
    if _FRACTION.match(typed):
        return f'type it in quotes, "{typed}".'
    if isinstance(error, IndentationError):
        return "take away the blanks at the beginning of the line."
    if "unterminated string" in str(error.msg):
        return "a quote is missing: words and units stand between two of them."
    if "was never closed" in str(error.msg) or "incomplete input" in str(error.msg):
        return "a closing bracket or quote is missing."
    if "unmatched" in str(error.msg):
        return "there is one closing bracket too many."
    if "leading zeros" in str(error.msg):
        return "leave out the zeros in front of the number."
    if not is_answer and "=" not in line:
        return "an answer begins with its name and the = sign, as the lesson has it."
    if is_answer and not typed:
        return f"nothing stands behind the = sign. Type your answer there, {DOTS_AGAIN}."
    if is_answer and _WORDS.match(typed):
        return f'put words in quotes, "{typed}".'
    return f'type a number (34.2), a number with its unit ("34.2 g"), a sum (7 * 28.35), {DOTS_AGAIN}.'


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

    return linecache.getline(trace.tb_frame.f_code.co_filename, trace.tb_lineno).rstrip("\n")
