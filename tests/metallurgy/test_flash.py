"""Sharing of metals and root searches, against hand solutions and scipy."""

from __future__ import annotations

from math import exp, log

import pytest
from scipy.optimize import minimize

from advisor.metallurgy.flash import share, solve_linear
from advisor.metallurgy.roots import newton_pair, rising_root, site_fraction


def test_two_metals_one_carbide_by_hand() -> None:
    """K = (3, 0.5), z = (0.5, 0.5): both phases saturated where 3 x + 0.5 (1 - x) = 1, so x = 0.2."""
    n, x = share([0.5, 0.5], [[2.0, -0.5]], [0.0])
    assert x == pytest.approx([0.2, 0.8])
    # lever rule: 0.5 = 0.2 (1 - n) + 0.6 n
    assert n == pytest.approx([0.75])


def test_undersaturated_carbide_is_absent() -> None:
    n, x = share([0.1, 0.9], [[2.0, -0.5]], [0.5])
    assert n == [0.0]
    assert x == pytest.approx([0.1, 0.9])


def test_three_carbides_as_scipy_finds_them() -> None:
    z = [0.7, 0.15, 0.1, 0.05]
    k = [[0.2, 4.0, 1.5, 3.0], [0.6, 1.5, 3.5, 0.5], [0.9, 0.8, 1.0, 3.0]]
    excess = [[value - 1.0 for value in row] for row in k]

    def objective(n: list[float]) -> float:
        d = [1.0 + sum(n[p] * excess[p][i] for p in range(3)) for i in range(4)]
        return 1e3 if min(d) <= 0.0 else -sum(zi * log(di) for zi, di in zip(z, d, strict=True))

    best = minimize(objective, [0.1] * 3, bounds=[(0, 1)] * 3, method="L-BFGS-B", options={"ftol": 1e-15})
    n, x = share(z, excess, [0.0, 0.0, 0.0])
    assert n == pytest.approx(list(best.x), abs=2e-4)
    for amount, row in zip(n, excess, strict=True):
        saturation = sum(e * xi for e, xi in zip(row, x, strict=True))
        assert saturation == pytest.approx(0.0, abs=1e-8) if amount > 0.0 else saturation < 1e-8


def test_linear_system() -> None:
    assert solve_linear([[4.0]], [2.0]) == [0.5]
    assert solve_linear([[0.0, 2.0], [1.0, 1.0]], [4.0, 5.0]) == pytest.approx([3.0, 2.0])
    three = [[0.0, 2.0, 1.0], [1.0, 1.0, 0.0], [2.0, 0.0, 3.0]]
    assert solve_linear(three, [7.0, 3.0, 11.0]) == pytest.approx([1.0, 2.0, 3.0])


def test_rising_root_across_a_kink() -> None:
    root = rising_root(lambda x: (x - 1.0, 1.0) if x < 0.5 else (8.0 * x - 4.5, 8.0), -5.0, (-10.0, 10.0), 1e-12)
    assert root == pytest.approx(0.5625)
    assert rising_root(lambda x: (x + 20.0, 1.0), 0.0, (-10.0, 10.0), 1e-12) == pytest.approx(-10.0)


def test_pair_of_roots() -> None:
    found = newton_pair(lambda x, y: ((exp(x) - y, x + y - 1.0), ((exp(x), -1.0), (1.0, 1.0))), (2.0, 2.0), 1e-12)
    assert found == pytest.approx((0.0, 1.0))
    assert newton_pair(lambda x, y: ((1.0, 1.0), ((1.0, 0.0), (0.0, 1.0))), (0.0, 0.0), 1e-12) is None


@pytest.mark.parametrize("y", [1e-6, 0.02, 0.3])
def test_site_fraction_inverts_the_activity(y: float) -> None:
    assert site_fraction(log(y / (1.0 - y)) + 8.0 * y, 8.0) == pytest.approx(y, rel=1e-6)
