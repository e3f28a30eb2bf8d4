"""Gaussian Markov chains on a grid, by one banded Cholesky factor.

A chain of `m` nodes with `d` states each has a block-tridiagonal precision matrix. Its lower
Cholesky factor has bandwidth `2d - 1`, so the mean, joint samples and the log determinant cost
`O(m d^2)` each and run in LAPACK.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import get_lapack_funcs

from neutralpoint.numerics.arrays import Array

# Of banded positive definite and of banded triangular matrices: factor, solve, solve.
_pbtrf, _pbtrs, _tbtrs = get_lapack_funcs(("pbtrf", "pbtrs", "tbtrs"), dtype=np.float64)


def assemble(diagonal: Array, coupling: Array) -> Array:
    """Lower banded storage of a block-tridiagonal matrix.

    Args:
        diagonal: Diagonal blocks, shape (m, d, d), symmetric.
        coupling: Blocks of node k+1 (rows) against node k (columns), shape (m - 1, d, d).

    Returns:
        Banded matrix, shape (2d, m d), `banded[i - j, j] = matrix[i, j]` for i >= j.
    """
    nodes, size, _ = diagonal.shape
    # By columns in memory, as LAPACK reads it: otherwise every call would copy the matrix.
    banded = np.zeros((2 * size, nodes * size), order="F")
    for i in range(size):
        for j in range(size):
            if i >= j:
                banded[i - j, j::size] = diagonal[:, i, j]
            banded[size + i - j, j : (nodes - 1) * size : size] = coupling[:, i, j]
    return banded


@dataclass(frozen=True)
class Factor:
    """Cholesky factor `L` of a precision matrix, `L L' = P`.

    Attributes:
        banded: Lower banded storage of `L`, shape (2d, m d).
        size: Number of states per node, d.
    """

    banded: Array
    size: int

    @property
    def log_determinant(self) -> float:
        """Natural logarithm of the determinant of the precision matrix."""
        return 2.0 * float(np.log(self.banded[0]).sum())

    def solve(self, right: Array) -> Array:
        """Solve `P x = right`.

        Args:
            right: Right-hand side, shape (m, d).

        Returns:
            Solution, shape (m, d).
        """
        solution, _ = _pbtrs(self.banded, right.reshape(-1, 1), lower=1)
        return solution.reshape(-1, self.size)

    def deviations(self, rng: np.random.Generator, count: int) -> Array:
        """Joint samples from the zero-mean normal law with this precision, `L' x = z`.

        Args:
            rng: Source of random numbers.
            count: Number of samples, S.

        Returns:
            Samples, shape (S, m, d).
        """
        # L' x = z gives x the covariance of (L L')^-1, the inverse of the precision.
        rows = self.banded.shape[1]
        draws = np.asfortranarray(rng.standard_normal((count, rows)).T)
        solution, _ = _tbtrs(self.banded, draws, uplo="L", trans="T", overwrite_b=1)
        return solution.T.reshape(count, -1, self.size)


def factorise(diagonal: Array, coupling: Array) -> Factor | None:
    """Factor a block-tridiagonal precision matrix.

    Args:
        diagonal: Diagonal blocks, shape (m, d, d).
        coupling: Sub-diagonal blocks, shape (m - 1, d, d).

    Returns:
        The factor, or None where the matrix is not positive definite.
    """
    factor, info = _pbtrf(assemble(diagonal, coupling), lower=1, overwrite_ab=1)
    if info != 0:
        return None
    return Factor(factor, diagonal.shape[1])


def _transpose(blocks: Array) -> Array:
    return np.swapaxes(blocks, -1, -2)


def marginal_covariance(diagonal: Array, coupling: Array) -> tuple[Array, Array]:
    """Covariance of each node and between neighbours, without the full inverse.

    Odd nodes are eliminated, the even ones solved the same way, and the odd ones recovered, so the
    work is a few batched products of small blocks.

    Args:
        diagonal: Diagonal blocks of the precision, shape (m, d, d).
        coupling: Blocks of node k+1 against node k, shape (m - 1, d, d).

    Returns:
        Covariance of node k, shape (m, d, d), and of node k+1 (rows) with node k, shape
        (m - 1, d, d).

    Source: block cyclic reduction, Buzbee, Golub and Nielson, SIAM J. Numer. Anal. 7 (1970)
    627-656; the recovery is the block-matrix inverse.
    Checked against: tests/unit/test_banded.py (dense inverse).
    """
    nodes, size, _ = diagonal.shape
    if nodes == 1:
        return np.asarray(np.linalg.inv(diagonal), np.float64), np.zeros((0, size, size))
    odd = np.linalg.inv(diagonal[1::2])
    left = odd @ coupling[0::2]  # D^-1 A(j, j-1)
    inner = (nodes - 1) // 2  # odd nodes that also have a right neighbour
    right = odd[:inner] @ _transpose(coupling[1::2])  # D^-1 A(j, j+1)
    reduced = diagonal[0::2].copy()
    reduced[: left.shape[0]] -= _transpose(coupling[0::2]) @ left
    reduced[1 : inner + 1] -= coupling[1::2] @ right
    even, even_next = marginal_covariance(reduced, -coupling[1::2] @ left[:inner])

    covariance = np.empty_like(diagonal)
    neighbour = np.empty_like(coupling)
    covariance[0::2] = even
    below = -left @ even[: left.shape[0]]  # cov(j, j-1)
    below[:inner] -= right @ even_next
    above = -right @ even[1 : inner + 1] - left[:inner] @ _transpose(even_next)  # cov(j, j+1)
    covariance[1::2] = odd - below @ _transpose(left)
    covariance[1::2][:inner] -= above @ _transpose(right)
    neighbour[0::2] = below
    neighbour[1::2] = _transpose(above)
    return covariance, neighbour
