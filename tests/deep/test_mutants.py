"""Twenty mutants, drawn anew for each commit, die by their room's tests."""

import random
import subprocess

import mutants
import pytest

DRAWN = 20
DIE_AT_LEAST = 0.9


def test_every_mutant_of_the_list_can_be_made_and_the_list_is_long_enough():
    listed = mutants.read_list()
    wrong = [str(one) for one in listed if (mutants.ROOT / one.file).read_text("utf-8").count(one.old) != 1]
    assert wrong == []
    assert all((mutants.ROOT / test.split("::")[0]).exists() for one in listed for test in one.tests)
    assert len({str(one) for one in listed}) == len(listed) >= 120
    judged = [one for one in listed if one.lives]
    assert len(judged) <= (1 - DIE_AT_LEAST) * len(listed)


@pytest.mark.deep
def test_nine_in_ten_mutants_die():
    commit = subprocess.run(["git", "rev-parse", "HEAD"], cwd=mutants.ROOT, capture_output=True, text=True, check=False)
    listed = [one for one in mutants.read_list() if not one.lives]
    drawn = random.Random(commit.stdout).sample(listed, DRAWN)
    living = mutants.survivors(drawn)
    assert len(living) <= (1 - DIE_AT_LEAST) * DRAWN, [str(one) for one in living]
