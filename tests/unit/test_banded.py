"""Banded Gaussian chains against dense linear algebra."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.numerics.banded import assemble, factorise, marginal_covariance


def chain(nodes, size, seed=0):
    """Blocks of a random positive definite block-tridiagonal matrix, and the dense matrix."""
    rng = np.random.default_rng(seed)
    dense = np.zeros((nodes * size, nodes * size))
    for k in range(nodes - 1):
        block = slice(k * size, (k + 2) * size)
        root = rng.standard_normal((2 * size, 2 * size))
        dense[block, block] += root @ root.T
    dense += 0.5 * np.eye(nodes * size)
    cut = [slice(k * size, (k + 1) * size) for k in range(nodes)]
    diagonal = np.array([dense[c, c] for c in cut])
    coupling = np.array([dense[cut[k + 1], cut[k]] for k in range(nodes - 1)])
    return diagonal, coupling.reshape(nodes - 1, size, size), dense


@pytest.mark.parametrize(("nodes", "size"), [(2, 1), (5, 3), (8, 6), (17, 2)])
def test_solution_and_determinant(nodes, size):
    diagonal, coupling, dense = chain(nodes, size)
    factor = factorise(diagonal, coupling)
    right = np.random.default_rng(1).standard_normal((nodes, size))
    expected = np.linalg.solve(dense, right.ravel()).reshape(nodes, size)
    # 1e-9: double precision times a condition number of about 1e4.
    np.testing.assert_allclose(factor.solve(right), expected, rtol=1e-9, atol=1e-11)
    assert factor.log_determinant == pytest.approx(np.linalg.slogdet(dense)[1], rel=1e-12)


@pytest.mark.parametrize(("nodes", "size"), [(1, 4), (2, 3), (3, 2), (8, 6), (13, 3), (16, 1)])
def test_marginal_covariance(nodes, size):
    diagonal, coupling, dense = chain(nodes, size) if nodes > 1 else single(size)
    inverse = np.linalg.inv(dense)
    covariance, neighbour = marginal_covariance(diagonal, coupling)
    for k in range(nodes):
        here = slice(k * size, (k + 1) * size)
        np.testing.assert_allclose(covariance[k], inverse[here, here], rtol=1e-8, atol=1e-10)
        if k + 1 < nodes:
            beyond = slice((k + 1) * size, (k + 2) * size)
            np.testing.assert_allclose(neighbour[k], inverse[beyond, here], rtol=1e-8, atol=1e-10)


def single(size):
    """One node: no coupling."""
    root = np.random.default_rng(2).standard_normal((size, size))
    dense = root @ root.T + np.eye(size)
    return dense[None], np.zeros((0, size, size)), dense


def test_deviations_have_the_covariance_of_the_chain():
    diagonal, coupling, dense = chain(4, 2)
    count = 40000
    drawn = factorise(diagonal, coupling).deviations(np.random.default_rng(3), count)
    flat = drawn.reshape(count, -1)
    expected = np.linalg.inv(dense)
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    # Five standard errors of a covariance, at most sqrt(2/N) of the scale.
    error = np.abs(flat.T @ flat / count - expected) / scale
    assert error.max() < 5.0 * np.sqrt(2.0 / count)


def test_banded_storage_holds_the_lower_half():
    diagonal, coupling, dense = chain(5, 3)
    banded = assemble(diagonal, coupling)
    for i in range(15):
        for j in range(max(0, i - 5), i + 1):
            assert banded[i - j, j] == dense[i, j]


def test_a_matrix_that_is_not_positive_definite_has_no_factor():
    diagonal, coupling, _ = chain(5, 3)
    diagonal[2] -= 100.0 * np.eye(3)
    assert factorise(diagonal, coupling) is None
