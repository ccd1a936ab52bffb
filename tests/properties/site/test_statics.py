"""Bounds of forces from the corners of what is possible, against linear programs of another hand (SciPy, HiGHS)."""

import numpy as np
import pytest
from scipy.optimize import linprog

from coldwright_site.shared import statics

TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


def by_programs(matrix, load):
    """Least and greatest of each force, one linear program each; None where there is none."""
    count = matrix.shape[1]
    found = []
    for sign in (1.0, -1.0):
        side = []
        for i in range(count):
            cost = np.zeros(count)
            cost[i] = sign
            answer = linprog(cost, A_eq=matrix, b_eq=load, bounds=(0, None), method="highs", options=TIGHT)
            if answer.status == 2:
                return None
            assert answer.status == 0
            side.append(max(0.0, float(answer.x[i])))
        found.append(side)
    return found


def legs(rng, grid):
    """Three or four legs from picks to a hook; on a grid, so that the plumb line often meets a pick or an edge."""
    count = int(rng.integers(3, 5))
    picks = rng.integers(-2, 3, (count, 2)).astype(float) if grid else rng.uniform(-3, 3, (count, 2))
    rise = rng.integers(1, 4, count).astype(float) if grid else rng.uniform(0.5, 8, count)
    vectors = np.column_stack([-picks, rise])
    return (vectors / np.linalg.norm(vectors, axis=1)[:, None]).T, np.array([0.0, 0.0, 1.0])


def feet(rng, grid):
    """Three to six feet, and a weight somewhere among or beside them."""
    count = int(rng.integers(3, 7))
    plan = rng.integers(-2, 3, (count, 2)).astype(float) if grid else rng.uniform(-3, 3, (count, 2))
    at = rng.integers(-2, 3, 2) / 2 if grid else rng.uniform(-2, 2, 2)
    return np.vstack([np.ones(count), plan.T]), np.array([1.0, *at])


def cases(number):
    rng = np.random.default_rng(20261128)
    while number:
        matrix, load = (legs, feet)[int(rng.integers(2))](rng, bool(rng.integers(2)))
        singular = np.linalg.svd(matrix, compute_uv=False)
        if singular[-1] > 1e-4 * singular[0]:  # flatter ones are refused before
            number -= 1
            yield matrix, load


def compare(number):
    held = refused = 0
    for matrix, load in cases(number):
        expected, found = by_programs(matrix, load), statics.bounds(matrix, load)
        assert (found is None) == (expected is None), (matrix, load)
        if found is None:
            refused += 1
            continue
        held += 1
        assert np.allclose(found, expected, rtol=0, atol=1e-8), (matrix, load)
    assert min(held, refused) > number / 10, "both kinds of case were met"


def test_bounds_against_linear_programs():
    compare(150)


@pytest.mark.nightly
def test_bounds_against_linear_programs_at_length():
    compare(3000)
