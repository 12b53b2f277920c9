"""What to type instead of a line that cannot be read, from the look of the line."""

from __future__ import annotations

import re

DOTS_AGAIN = "or put the three dots (...) back"
A_LIST = "type a list with a blank behind each comma and points in the numbers: [12.0, 30.5, 41.0]"

_ANSWER = re.compile(r"^\s*(?P<name>\w+)\s*=(?!=)\s*(?P<typed>.*?)\s*(#.*)?$", re.DOTALL)
_NUMBER = re.compile(r"^-?\d[\d.,]*")
_NUMBER_AND_UNIT = re.compile(r"^(?P<number>-?(\d+\s+\d+/\d+|\d+/\d+|\d*[.,]?\d+))\s*(?P<unit>[^\W\d]|%|°)")
_FRACTION = re.compile(r"^\d+\s+\d+/\d+$")
_ZEROS = re.compile(r"^0\d+$")
_WORDS = re.compile(r"^[^\W\d][\w\s-]*$")
_CURLY = "“”„‘’‚«»´`"
_SIGNS = {"×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "²": "** 2", "½": ".5", "¼": ".25", "¾": ".75", "^": "**"}


def parts_of(line: str) -> tuple[str, str]:
    """The name and what stands behind its = sign, without a comment; two empty texts where there is no = sign.

    >>> parts_of("total_g = 7 grams   # in grams")
    ('total_g', '7 grams')
    """
    found = _ANSWER.match(line)
    return (found["name"], found["typed"]) if found else ("", "")


def cure(line: str) -> str:
    """What to type instead, one clause that ends with a full stop.

    >>> cure("readings_g = [12, 30, 41")
    'a closing bracket is missing: type a list with ...: [12.0, 30.5, 41.0].'
    >>> cure("total_g =")
    'nothing stands behind the = sign. Type your answer there, or put the three dots (...) back.'
    """
    name, typed = parts_of(line)
    if not name:
        return "an answer begins with its name and the = sign, as the lesson has it."
    if not typed.strip("\"' "):
        return f"nothing stands behind the = sign. Type your answer there, {DOTS_AGAIN}."
    if typed[:1] in "[({":
        missing = typed.count("[") + typed.count("(") > typed.count("]") + typed.count(")")
        return f"{'a closing bracket is missing: ' if missing else ''}{A_LIST}."
    curly = next((sign for sign in _CURLY if sign in typed), None)
    if curly:
        return f"type straight quotes, \" or ', instead of {curly}."
    number = _NUMBER_AND_UNIT.match(typed)
    if number:
        plain = number["number"].replace(",", ".")
        if " " in plain:
            return f'type the number with its unit in quotes, "{typed}".'
        return f'type the number with its unit in quotes, "{typed}", or only the number, {plain}.'
    if _FRACTION.match(typed):
        return f'type it in quotes, "{typed}".'
    if _ZEROS.match(typed):
        return "leave out the zeros in front of the number."
    sign = next((sign for sign in _SIGNS if sign in typed), None)
    if sign:
        return f"type {_SIGNS[sign]} instead of {sign}."
    if "=" in typed:
        return "type one name, one = sign and one answer on a line."
    if typed.count('"') % 2 or typed.count("'") % 2:
        return "a quote is missing: words and units stand between two of them."
    if typed.count("(") != typed.count(")") or typed.count("[") != typed.count("]"):
        more = typed.count(")") + typed.count("]") > typed.count("(") + typed.count("[")
        return "there is one closing bracket too many." if more else "a closing bracket is missing."
    if _WORDS.match(typed):
        return f'put words in quotes, "{typed}".'
    if _NUMBER.match(typed) and "," in typed:
        return f"type a point for the decimal comma, {_NUMBER.match(typed)[0].replace(',', '.')}."  # type: ignore[index]
    return f'type a number (34.2), a number with its unit ("34.2 g"), a sum (7 * 28.35), {DOTS_AGAIN}.'
