"""A typing slip gives one sentence that says what to type, and stays an error for whoever grades."""

import nbformat
import pytest
from nbclient import NotebookClient

from refinishlib.course.plain_errors import plain_sentence

SLIPS = {
    "total_g = 7 grams  # in grams": '"7 grams", or only the number, 7.',
    "total_g = 34,2g": '"34,2g", or only the number, 34.2.',
    "share = 12.5%": '"12.5%", or only the number, 12.5.',
    "amount = 1 1/2": 'in quotes, "1 1/2".',
    "amount = 1 1/2 pt": 'in quotes, "1 1/2 pt".',
    "choice = accept it": 'put words in quotes, "accept it".',
    "amount = “7 g”": "straight quotes",
    'amount = "7 g': "a quote is missing",
    "amount = 7 × 28.35": "type * instead of ×.",
    "amount = ": "nothing stands behind the = sign",
    "readings = [1, 2": "a closing bracket is missing",
    "amount = 7)": "one closing bracket too many",
    "amount = 007": "leave out the zeros",
    "  amount = 7\nother = 8": "take away the blanks",
    "34.2 g": "begins with its name and the = sign",
    "amount = 7 *": 'a number with its unit ("34.2 g")',
}


@pytest.mark.parametrize("cell", SLIPS)
def test_a_slip_names_what_to_type(cell):
    with pytest.raises(SyntaxError) as slip:
        compile(cell, "cell", "exec")
    sentence = plain_sentence(slip.value, (slip.value.text or "").rstrip("\n"))
    assert SLIPS[cell] in sentence
    assert "\n" not in sentence


def test_in_a_kernel_it_is_one_line_and_still_an_error():
    cells = [
        "from refinishlib.course.plain_errors import use_plain_errors\nuse_plain_errors()",
        "# 3.2 You poured too much.\nfirst = 5\ntotal = 7 grams   # grams on the scale",
        "choice = rescue",
        "check(total)",
        "from refinishlib.entry import one_of\none_of('lamp', 1, iter(()).gi_frame)",
        "def inside():\n    return 1 / 0\ninside()",
    ]
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
    NotebookClient(notebook, allow_errors=True, kernel_name="python3").execute()
    outputs = [cell.outputs for cell in notebook.cells]
    assert outputs[0] == []
    assert all([output.output_type for output in each] == ["error"] for each in outputs[1:])
    assert outputs[1][0].ename == "SyntaxError"
    assert outputs[1][0].traceback == [
        'total = 7 grams: type the number with its unit in quotes, "7 grams", or only the number, 7.'
    ]
    assert outputs[2][0].traceback == ['choice = rescue: put words in quotes, "rescue".']
    assert '"check" has no value yet' in outputs[3][0].traceback[0]
    # Anything else, a fault of ours included, keeps its traceback.
    assert all(len(each[0].traceback) > 1 for each in outputs[4:])
